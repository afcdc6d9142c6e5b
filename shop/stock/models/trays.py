"""Kit trays, what lies in them, and the waves in which they are picked."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from shop.stock.models.places import Lot


class Wave(models.Model):
    """Trays picked in one go past the bins: for one release day, one or two a day."""

    day = models.DateField(help_text="The release day it is picked for.")
    number = models.PositiveSmallIntegerField(help_text="First, second of that day.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["day", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["day", "number"], name="wave_number_once")
        ]

    def __str__(self) -> str:
        return f"Wave {self.number} for {self.day}"


class Walk(models.Model):
    """A clerk's part of a wave: the whole of it, or after a split some of its bins.

    Nothing of it lives on a phone: paused on one it is taken up on any other.
    """

    wave = models.ForeignKey(Wave, models.CASCADE, related_name="walks")
    number = models.PositiveSmallIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    paused_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["wave", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["wave", "number"], name="walk_number_once")
        ]

    def __str__(self) -> str:
        return f"{self.wave}, walk {self.number}"


class Tray(models.Model):
    """One instrument's kit tray. It knows the instrument by serial, as its label does."""

    STATES: ClassVar = [
        ("asked", "asked for"),
        ("picked", "picked, not closed"),
        ("closed", "closed"),
    ]

    code = models.CharField(max_length=7)
    serial = models.CharField(max_length=16)
    revision = models.ForeignKey("catalogue.SpecRevision", models.PROTECT, related_name="+")
    wanted_on = models.DateField(help_text="The day its instrument is released to the bench.")
    asked_at = models.DateTimeField(null=True)
    urgent = models.BooleanField(default=False)
    state = models.CharField(max_length=6, choices=STATES, default="asked")
    # Rises with every change to what lies in the tray; a check at the bench names it.
    version = models.PositiveIntegerField(default=1)
    wave = models.ForeignKey(Wave, models.SET_NULL, null=True, related_name="trays")
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    slot = models.CharField(max_length=6, blank=True, help_text="Where it is parked.")

    class Meta:
        ordering: ClassVar = ["wanted_on", "serial"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="tray_code_once"),
            models.CheckConstraint(
                condition=Q(state="closed", closed_at__isnull=False, closed_by__isnull=False)
                | (~Q(state="closed") & Q(closed_at__isnull=True)),
                name="tray_closed_by_somebody",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["state", "wanted_on"], name="tray_state"),
            models.Index(fields=["serial"], name="tray_of_serial"),
        ]

    def __str__(self) -> str:
        return f"Tray of {self.serial}"


class TrayLine(models.Model):
    """One wanted item, and what was put in for it. Filled from two lots it is two lines."""

    STATES: ClassVar = [("open", "to pick"), ("taken", "in the tray"), ("short", "short")]
    HOWS: ClassVar = [("scan", "scanned"), ("count", "counted"), ("weigh", "weighed")]

    tray = models.ForeignKey(Tray, models.CASCADE, related_name="lines")
    item = models.ForeignKey("catalogue.Item", models.PROTECT, related_name="+")
    part = models.PositiveSmallIntegerField(default=1)
    quantity = models.PositiveSmallIntegerField()
    used_at = models.CharField(max_length=4, blank=True, help_text="The operation that fits it.")
    reserved = models.PositiveSmallIntegerField(default=0)
    reserved_lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="+")
    walk = models.ForeignKey(Walk, models.SET_NULL, null=True, related_name="lines")
    state = models.CharField(max_length=5, choices=STATES, default="open")
    # What really lies in the tray: may differ from what was wanted.
    put_in = models.ForeignKey("catalogue.Item", models.PROTECT, null=True, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="+")
    left_counted = models.PositiveSmallIntegerField(null=True)
    right_counted = models.PositiveSmallIntegerField(null=True)
    # The tray check: each line that lies in the tray is scanned, counted or weighed.
    checked_how = models.CharField(max_length=5, choices=HOWS, blank=True)
    checked_count = models.PositiveSmallIntegerField(null=True)
    checked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    checked_at = models.DateTimeField(null=True)
    # A second plating lot in this tray, taken on whose word and why.
    second_lot_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    second_lot_why = models.CharField(max_length=120, blank=True)
    # What became of it after the tray was closed: fitted at its operation, or returned.
    fitted = models.PositiveSmallIntegerField(default=0)
    returned = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["tray", "item", "part"], name="tray_item_part_once"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="trayline_quantity_positive"),
            models.CheckConstraint(
                condition=(Q(state="taken") & Q(put_in__isnull=False))
                | (~Q(state="taken") & Q(put_in__isnull=True)),
                name="trayline_taken_is_something",
            ),
            models.CheckConstraint(
                condition=Q(quantity__gte=F("fitted") + F("returned")),
                name="trayline_no_more_than_it_held",
            ),
            models.CheckConstraint(
                condition=Q(second_lot_by__isnull=True) | ~Q(second_lot_why=""),
                name="trayline_second_lot_has_a_reason",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["state", "item"], name="trayline_state")]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item.key} for {self.tray.serial}"
