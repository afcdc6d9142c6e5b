"""The heights of an instrument's frets, read line by line before and after they are levelled."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from shop.floor.models.gauges import Gauge
from shop.floor.models.instruments import Instrument
from shop.floor.models.journal import Entry


class FretHeights(models.Model):
    """All heights of one board as they stood once these were read. Earlier ones stay; the
    latest count."""

    STAGES: ClassVar = [("before", "before levelling"), ("after", "after crowning")]
    DATA: ClassVar = [("board", "the board"), ("straight", "a straight reference")]

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="+", db_index=False)
    stage = models.CharField(max_length=6, choices=STAGES)
    datum = models.CharField(max_length=8, choices=DATA, help_text="What they were read from.")
    heights = models.JSONField(help_text="In mm: a list a line from the bass edge, by fret.")
    flats = models.JSONField(default=dict, help_text="Widest flat in mm, by fret.")
    rockers = models.JSONField(default=dict, help_text="Gap under the rocker in mm, by fret.")
    operation = models.CharField(max_length=4)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    at = models.DateTimeField()
    tool = models.ForeignKey(Gauge, models.PROTECT, null=True, related_name="+", db_index=False)
    overdue = models.BooleanField(default=False, help_text="Its tool was not checked in time.")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["-id"]
        verbose_name_plural = "fret heights"
        indexes: ClassVar = [models.Index(fields=["instrument", "-id"], name="frets_newest")]

    def __str__(self) -> str:
        return f"Frets of {self.instrument} {self.stage}"
