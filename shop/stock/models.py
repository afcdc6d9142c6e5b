"""What is on the shelf: bins, lots, every movement, and the trays picked from them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Bin(models.Model):
    code = models.CharField(max_length=8, help_text="As on the shelf: A-03.")

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["code"], name="bin_code_once")]

    def __str__(self) -> str:
        return self.code


class Lot(models.Model):
    """Items of one receipt in one bin. The two counts are the sums of its movements."""

    item = models.ForeignKey("catalogue.Item", models.PROTECT, related_name="lots")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="lots")
    code = models.CharField(max_length=20, help_text="Maker's lot or receipt date.")
    received_on = models.DateField()
    least = models.PositiveIntegerField(default=0, help_text="Reorder below this many.")
    on_hand = models.PositiveIntegerField(default=0)
    reserved = models.PositiveIntegerField(default=0)
    best_before = models.DateField(null=True, blank=True, help_text="Batteries.")
    # Why the whole lot is held: a piece measured out of its declared size. Empty: free to pick.
    held = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["received_on", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "bin", "code"], name="lot_once"),
            models.CheckConstraint(
                condition=Q(reserved__lte=F("on_hand")), name="lot_reserved_is_there"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item.key} {self.code} in {self.bin}"


class LotCheck(models.Model):
    """A dimension of one piece, measured at receiving. Rows are added, never changed."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="checks")
    dimension = models.CharField(max_length=24, help_text="As bushing_od_mm.")
    value_mm = models.DecimalField(max_digits=7, decimal_places=3)
    inside = models.BooleanField(help_text="Within the declared size.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(value_mm__gt=0), name="lot_check_positive")
        ]

    def __str__(self) -> str:
        return f"{self.dimension} {self.value_mm} of {self.lot}"


class LotHold(models.Model):
    """A lot was held, or given free again: by whom and why. Rows are added, never changed."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="holds")
    held = models.BooleanField()
    why = models.CharField(max_length=200)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(why=""), name="lot_hold_has_a_reason")
        ]

    def __str__(self) -> str:
        return f"{'held' if self.held else 'free'}: {self.lot}"


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
    state = models.CharField(max_length=6, choices=STATES, default="asked")
    # Rises with every change to what lies in the tray; a check at the bench names it.
    version = models.PositiveIntegerField(default=1)
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

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
        indexes: ClassVar = [models.Index(fields=["state", "wanted_on"], name="tray_state")]

    def __str__(self) -> str:
        return f"Tray of {self.serial}"


class TrayLine(models.Model):
    """One wanted item, and what was put in for it."""

    STATES: ClassVar = [("open", "to pick"), ("taken", "in the tray"), ("short", "short")]

    tray = models.ForeignKey(Tray, models.CASCADE, related_name="lines")
    item = models.ForeignKey("catalogue.Item", models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField()
    reserved = models.PositiveSmallIntegerField(default=0)
    reserved_lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="+")
    state = models.CharField(max_length=5, choices=STATES, default="open")
    # What really lies in the tray: may differ from what was wanted.
    put_in = models.ForeignKey("catalogue.Item", models.PROTECT, null=True, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="+")
    left_counted = models.PositiveSmallIntegerField(null=True)
    right_counted = models.PositiveSmallIntegerField(null=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["tray", "item"], name="tray_item_once"),
            models.CheckConstraint(condition=Q(quantity__gt=0), name="trayline_quantity_positive"),
            models.CheckConstraint(
                condition=(Q(state="taken") & Q(put_in__isnull=False))
                | (~Q(state="taken") & Q(put_in__isnull=True)),
                name="trayline_taken_is_something",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["state", "item"], name="trayline_state")]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item.key} for {self.tray.serial}"


class Movement(models.Model):
    """One change to a lot's counts. Rows are added, never changed."""

    KINDS: ClassVar = [
        ("received", "received"),
        ("reserved", "reserved"),
        ("released", "reservation given back"),
        ("deducted", "deducted at tray close"),
        ("adjusted", "adjusted after a count"),
    ]

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=8, choices=KINDS)
    on_hand = models.IntegerField(help_text="Change of the number on hand.")
    reserved = models.IntegerField(help_text="Change of the number reserved.")
    tray = models.ForeignKey(Tray, models.PROTECT, null=True, related_name="movements")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(on_hand=0, reserved=0), name="movement_moves_something"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.on_hand:+d} ({self.reserved:+d} reserved) {self.lot}"
