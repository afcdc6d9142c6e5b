"""Bins on their aisles, and the lots that lie in them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Bin(models.Model):
    """A place on the shelf. Where it stands on its aisle gives the clerk the shortest way."""

    code = models.CharField(max_length=8, help_text="As on the shelf: A-03.")
    aisle = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Counted from the kitting table: 1 is the nearest."
    )
    along_m = models.DecimalField(
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="Metres along its aisle, from the end the kitting table stands at.",
    )

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="bin_code_once"),
            models.CheckConstraint(
                condition=Q(aisle__isnull=True, along_m__isnull=True)
                | Q(aisle__isnull=False, along_m__gte=0),
                name="bin_place_is_whole",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class Lot(models.Model):
    """Pieces of one item and one receipt in one bin.

    Its three counts are the sums of its movements: the database changes them with each
    movement and lets nobody else do it (``shop/stock/guard.py``).
    """

    PIECES: ClassVar = [("", "whole"), ("L", "left single"), ("R", "right single")]

    item = models.ForeignKey("catalogue.Item", models.PROTECT, related_name="lots")
    bin = models.ForeignKey(Bin, models.PROTECT, related_name="lots")
    code = models.CharField(max_length=20, help_text="Maker's lot or receipt date.")
    # A single machine of a broken set is kept by hand; it never passes for a set.
    piece = models.CharField(max_length=1, choices=PIECES, blank=True, default="")
    # Empty: the lot's own code says it. Parts of several items may come out of one bath.
    plating = models.CharField(max_length=20, blank=True, help_text="Plating lot, where known.")
    received_on = models.DateField()
    on_hand = models.PositiveIntegerField(default=0, help_text="In its bin.")
    reserved = models.PositiveIntegerField(default=0, help_text="Of those, kept for trays.")
    out = models.PositiveIntegerField(default=0, help_text="In closed trays, not fitted yet.")
    best_before = models.DateField(null=True, blank=True, help_text="Batteries.")
    # Why the whole lot is held: a piece measured out of its declared size. Empty: free to pick.
    held = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["received_on", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "bin", "code", "piece"], name="lot_once"),
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


class LotCount(models.Model):
    """A bin was counted: by one, and beyond its tolerance by a second. What it was by the
    figures is kept as it was then."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="counts")
    expected = models.PositiveIntegerField(help_text="On hand by the figures, then.")
    counted = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    second = models.PositiveIntegerField(null=True)
    second_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    second_at = models.DateTimeField(null=True)
    # Empty while a second count is still asked for.
    ended = models.CharField(
        max_length=8,
        blank=True,
        choices=[("agreed", "as by the figures"), ("adjusted", "adjusted"), ("apart", "differ")],
    )
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["lot"], condition=Q(ended=""), name="lot_count_one_open"
            ),
            models.CheckConstraint(
                condition=Q(second_by__isnull=True) | ~Q(second_by=F("by")),
                name="lot_count_second_is_another",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["lot", "-at"], name="lot_count_latest")]

    def __str__(self) -> str:
        return f"{self.counted} counted of {self.lot}"
