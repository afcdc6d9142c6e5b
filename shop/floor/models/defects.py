"""What was found wrong with an instrument, and what was decided about it."""

from __future__ import annotations

from typing import ClassVar, Final

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.craft.inspecting.disposing import Disposition
from shop.floor.models.instruments import Instrument
from shop.floor.models.journal import Entry
from shop.floor.models.work import Rework

WAITS: Final = Disposition.HOLD.value  # decided is only that somebody else decides
WITHDRAWN: Final = "withdrawn"  # it was noted by mistake

_UNDECIDED: Final = Q(disposition__in=("", WAITS))
_STANDS: Final = Q(instrument__ended="")
_AT_REPAIR: Final = Q(rework__isnull=False, rework__closed_at__isnull=True)


class Noted(models.QuerySet["Defect"]):
    """Defects by how they stand. A loop that comes to its end closes those it was for."""

    def open(self) -> Noted:
        """What is to become of them is not decided yet."""
        return self.filter(_UNDECIDED, _STANDS)

    def in_rework(self) -> Noted:
        """They are being made good: the loop they were sent on still runs."""
        return self.filter(_AT_REPAIR, _STANDS)

    def closed(self) -> Noted:
        """Made good, accepted, ended with the instrument, or noted by mistake."""
        return self.exclude(_UNDECIDED & _STANDS).exclude(_AT_REPAIR & _STANDS)

    def real(self) -> Noted:
        """All but those that were noted by mistake."""
        return self.exclude(disposition=WITHDRAWN)


class Defect(models.Model):
    """One defect of one instrument. A report that sent it on a loop at once was decided as it
    was noted, and nobody graded it."""

    instrument = models.ForeignKey(
        Instrument, models.PROTECT, related_name="defects_noted", db_index=False
    )
    number = models.PositiveIntegerField(help_text="Its row in the instrument's journal.")
    family = models.CharField(max_length=12, blank=True)
    word = models.CharField(max_length=24, help_text="The defect, in its one word.")
    grade = models.PositiveSmallIntegerField(
        default=0, help_text="1 critical to 4 note; 0: nobody graded it."
    )
    zone = models.PositiveSmallIntegerField(default=0, help_text="1 to 16; 0: not said.")
    view = models.CharField(max_length=12, blank=True, help_text="The drawing it was tapped on.")
    x_mm = models.DecimalField(
        max_digits=6, decimal_places=1, null=True, help_text="From the view's reference point."
    )
    y_mm = models.DecimalField(
        max_digits=6, decimal_places=1, null=True, help_text="From the view's reference point."
    )
    words = models.CharField(max_length=200, blank=True, help_text="How it looks.")
    found_at = models.CharField(max_length=4, blank=True, help_text="Operation or station.")
    found_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    at = models.DateTimeField()
    disposition = models.CharField(
        max_length=40, blank=True, help_text="What becomes of it; empty while that is open."
    )
    decided_at = models.DateTimeField(null=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+", db_index=False
    )
    second = models.CharField(max_length=8, blank=True, help_text="Badge that decided with them.")
    reason = models.CharField(max_length=200, blank=True)
    department = models.CharField(
        max_length=4, blank=True, help_text="Neck or body, where it goes back to its maker."
    )
    rework = models.ForeignKey(Rework, models.PROTECT, null=True, related_name="defects")
    # One journal row, one defect; the defect is never looked for from there.
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    objects = Noted.as_manager()

    class Meta:
        ordering: ClassVar = ["instrument", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["instrument", "number"], name="defect_once"),
            models.CheckConstraint(condition=Q(grade__lte=4), name="defect_grade_is_known"),
            models.CheckConstraint(condition=Q(zone__lte=16), name="defect_zone_is_known"),
            models.CheckConstraint(
                condition=Q(disposition="", decided_at__isnull=True)
                | (~Q(disposition="") & Q(decided_at__isnull=False)),
                name="defect_decided_at_a_moment",
            ),
            models.CheckConstraint(
                condition=Q(x_mm__isnull=True, y_mm__isnull=True)
                | Q(x_mm__isnull=False, y_mm__isnull=False),
                name="defect_place_is_whole",
            ),
        ]
        indexes: ClassVar = [
            models.Index(fields=["instrument"], condition=_UNDECIDED, name="defect_open"),
            models.Index(fields=["at"], name="defect_when"),
        ]

    def __str__(self) -> str:
        return f"{self.word} of {self.instrument}"
