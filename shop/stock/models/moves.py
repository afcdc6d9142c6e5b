"""Every change to what is on the shelf."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.stock.models.places import Lot
from shop.stock.models.trays import Tray, TrayLine


class Movement(models.Model):
    """One change to a lot's counts, and what they were after it. Rows are added, never
    changed; the database moves the lot's counts with the row and refuses one that does not
    follow from them."""

    KINDS: ClassVar = [
        ("received", "received"),
        ("reserved", "reserved"),
        ("released", "reservation given back"),
        ("deducted", "out into a tray"),
        ("consumed", "fitted"),
        ("returned", "back out of a tray"),
        ("moved", "moved to another bin or lot"),
        ("broken", "a set broken into singles"),
        ("made", "a set made of singles"),
        ("drawn", "drawn for a repair"),
        ("adjusted", "adjusted after a count"),
    ]

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="movements", db_index=False)
    kind = models.CharField(max_length=8, choices=KINDS)
    on_hand = models.IntegerField(help_text="Change of the number on hand.")
    reserved = models.IntegerField(help_text="Change of the number reserved.")
    out = models.IntegerField(default=0, help_text="Change of the number out in trays.")
    on_hand_after = models.PositiveIntegerField()
    reserved_after = models.PositiveIntegerField()
    out_after = models.PositiveIntegerField()
    tray = models.ForeignKey(Tray, models.PROTECT, null=True, related_name="movements")
    line = models.ForeignKey(
        TrayLine, models.PROTECT, null=True, related_name="movements", db_index=False
    )
    # The instrument, where there is no tray to tell it: drawn for its repair, off it as scrap.
    serial = models.CharField(max_length=16, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(on_hand=0, reserved=0, out=0), name="movement_moves_something"
            )
        ]
        indexes: ClassVar = [
            models.Index(fields=["lot", "id"], name="movement_of_lot"),
            models.Index(fields=["kind", "at"], name="movement_by_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.on_hand:+d} ({self.reserved:+d} reserved) {self.lot}"
