"""What the print room keeps: its printers, and what was asked of the press."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

FARTHEST_MM = 10  # a printer that is further off wants a person, not a figure


def _offset(words: str) -> models.DecimalField[Decimal | int | str, Decimal]:
    """By how much what is printed is to be moved, right or down, in mm."""
    return models.DecimalField(
        max_digits=4,
        decimal_places=1,
        default=0,
        validators=[MinValueValidator(-FARTHEST_MM), MaxValueValidator(FARTHEST_MM)],
        help_text=words,
    )


class Printer(models.Model):
    """A printer by the name on it, and by how much it prints beside its mark, as measured on
    its calibration page."""

    SHEETS: ClassVar = [
        ("single", "One to a page"),
        ("a4", "Many on A4"),
        ("letter", "Many on Letter"),
    ]
    EDGES: ClassVar = [("long", "long edge"), ("short", "short edge"), ("none", "one side only")]

    name = models.CharField(max_length=40)
    sheet = models.CharField(max_length=8, choices=SHEETS, default="single")
    edge = models.CharField(max_length=5, choices=EDGES, default="long")
    right_mm = _offset("Front, to the right.")
    down_mm = _offset("Front, down.")
    back_right_mm = _offset("Back as it lies before you, to the right.")
    back_down_mm = _offset("Back as it lies before you, down.")

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["name"], name="printer_once")]

    def __str__(self) -> str:
        return self.name


class Job(models.Model):
    """One print that was asked for: of what, on what, how far it is, and what became of it."""

    STATES: ClassVar = [
        ("waiting", "waiting"),
        ("drawing", "drawing"),
        ("recording", "recording"),
        ("done", "done"),
        ("stopped", "stopped"),
    ]

    key = models.UUIDField(help_text="Made by the phone: the same key is the same print.")
    form = models.CharField(max_length=16)
    names = models.JSONField(help_text="Serials or other names, in the order asked.")
    sheet = models.CharField(max_length=8, choices=Printer.SHEETS)
    first = models.PositiveSmallIntegerField(default=0, help_text="Places used on sheet 1.")
    edge = models.CharField(max_length=5, choices=Printer.EDGES)
    printer = models.ForeignKey(Printer, models.SET_NULL, null=True, related_name="+")
    reason = models.CharField(max_length=200, blank=True)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    badge = models.CharField(max_length=8)
    language = models.CharField(max_length=2, default="en", help_text="Of the words on it.")
    station = models.CharField(max_length=4, blank=True)
    device = models.CharField(max_length=40, blank=True)
    claimed_at = models.DateTimeField(null=True)
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=9, choices=STATES, default="waiting")
    drawn = models.PositiveIntegerField(default=0, help_text="How many of the names so far.")
    beat_at = models.DateTimeField(null=True, help_text="When the press last gave a sign.")
    stop_asked = models.BooleanField(default=False)
    done_at = models.DateTimeField(null=True)
    refused = models.JSONField(default=list, help_text="Pairs of a name and why it is missing.")
    sheets = models.PositiveIntegerField(default=0, help_text="Pages of the finished PDF.")

    class Meta:
        ordering: ClassVar = ["-asked_at", "-id"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["key"], name="job_key_once")]

    def __str__(self) -> str:
        return f"{self.form}, {len(self.names)}, {self.state}"
