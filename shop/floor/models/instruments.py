"""Instruments: a body, its neck, its tray, and how it stands."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from shop.floor.models.parts import Body, Neck


class Instrument(models.Model):
    """A body on its way to being a guitar. Its serial is its body's."""

    body = models.OneToOneField(Body, models.PROTECT, related_name="instrument")
    # The neck that waits for it; the pair is made at the joint machine. None while a broken
    # pair has no new neck yet.
    neck = models.OneToOneField(Neck, models.PROTECT, null=True, related_name="instrument")
    revision = models.ForeignKey("catalogue.SpecRevision", models.PROTECT, related_name="+")
    due_on = models.DateField()
    release_on = models.DateField()
    urgent = models.BooleanField(default=False)
    order = models.CharField(max_length=24, blank=True)
    destination = models.CharField(
        max_length=40, blank=True, help_text="Country it is exported to; empty: it stays here."
    )
    tray = models.OneToOneField("stock.Tray", models.PROTECT, related_name="instrument")
    deviations_count = models.PositiveSmallIntegerField(default=0)
    # The last tray check at a bench: which version of the tray, where, and its worst word.
    checked_version = models.PositiveIntegerField(null=True)
    checked_station = models.CharField(max_length=4, blank=True)
    checked_worst = models.CharField(max_length=4, blank=True)
    # The readings in force as [quantity, place, value, operation it answers], in the order
    # they were taken: a database may turn the keys of an object over. Every one ever taken
    # is a Reading.
    gauged = models.JSONField(default=list)
    # Findings that stand against it now, by what raised them: tray, readings, positions.
    standing = models.JSONField(default=dict)
    # The version of the tray whose machines were found on their posts.
    placed_version = models.PositiveIntegerField(null=True)
    # What decides beside the steps what may be done on it; their shapes are in ``course.py``.
    open_step = models.JSONField(default=dict)  # begun and not recorded
    frozen = models.JSONField(default=dict)  # waits for the lead
    rework = models.JSONField(default=dict)  # the loop it is on
    repairs = models.JSONField(default=list)  # who repaired it, and when
    happened = models.JSONField(default=list)  # what moves its hold
    defects = models.JSONField(default=list)  # what is noted and not decided
    decided = models.JSONField(default=list)  # who signed what became of others
    longer = models.JSONField(default=dict)  # hours a lead added, by clock
    slot = models.CharField(
        max_length=5, blank=True, help_text="Of the hold rack; empty: its case lies in none."
    )
    ended = models.CharField(max_length=120, blank=True, help_text="Why it is scrap.")
    seq = models.PositiveIntegerField(default=0, help_text="Rows in its journal so far.")
    link = models.CharField(max_length=64, blank=True, help_text="Of its last journal row.")
    finished_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["due_on", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["slot"], condition=~Q(slot=""), name="instrument_one_a_slot"
            )
        ]
        indexes: ClassVar = [
            models.Index(
                fields=["due_on"], condition=Q(finished_at__isnull=True), name="instrument_open"
            )
        ]

    def __str__(self) -> str:
        return self.body.serial


class Deviation(models.Model):
    """Where this instrument departs from its spec, as agreed with the buyer."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="deviations")
    words = models.CharField(max_length=200)
    out_item = models.ForeignKey("catalogue.Item", models.PROTECT, null=True, related_name="+")
    in_item = models.ForeignKey("catalogue.Item", models.PROTECT, null=True, related_name="+")
    approved = models.CharField(max_length=80, help_text="Who agreed, on which order.")

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.words


class Pair(models.Model):
    """A neck and the one body machined for it."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="pairs")
    neck = models.ForeignKey(Neck, models.PROTECT, related_name="pairs")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument"],
                condition=Q(ended_at__isnull=True),
                name="pair_one_open_per_body",
            ),
            models.UniqueConstraint(
                fields=["neck"], condition=Q(ended_at__isnull=True), name="pair_one_open_per_neck"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} with {self.neck}"
