"""What was answered of the checklist at a look, area by area."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from shop.floor.models.instruments import Instrument
from shop.floor.models.journal import Entry


class AreaLook(models.Model):
    """All answers to one area, as one person gave them. An area that is looked at again gets
    another row; earlier ones stay, the latest counts."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="+", db_index=False)
    number = models.PositiveIntegerField(help_text="Its row in the instrument's journal.")
    operation = models.CharField(max_length=4, help_text="The look it was answered at.")
    area = models.PositiveSmallIntegerField(help_text="1 to 16.")
    answers = models.JSONField(help_text="By the key of the item.")
    told_by = models.PositiveIntegerField(
        default=0, help_text="The row of the defect that was chosen for it; 0: none was."
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    at = models.DateTimeField()
    # One journal row, one area; the area is never looked for from there.
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["instrument", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["instrument", "number"], name="area_look_once"),
        ]

    def __str__(self) -> str:
        return f"Area {self.area} of {self.instrument} at {self.operation}"
