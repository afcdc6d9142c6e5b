"""What was printed of an instrument."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from shop.floor.models.instruments import Instrument
from shop.floor.models.journal import Entry


class Print(models.Model):
    """One copy of a paper as it left the printer."""

    instrument = models.ForeignKey(
        Instrument, models.PROTECT, related_name="prints", db_index=False
    )
    form = models.CharField(max_length=12)
    words = models.CharField(max_length=24, help_text="What the form is called.")
    of = models.CharField(max_length=16, help_text="Serial of the body or neck it is of.")
    copy = models.PositiveSmallIntegerField(help_text="1 is the first of its kind.")
    code = models.CharField(
        max_length=7, blank=True, help_text="Its own, where it does not carry that of a part."
    )
    drawn_from = models.PositiveIntegerField(help_text="Rows its journal had when it was drawn.")
    stands = models.JSONField(default=list, help_text="What it says that may change.")
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument", "form", "of", "copy"], name="print_copy_once"
            ),
            models.UniqueConstraint(fields=["code"], condition=~Q(code=""), name="print_code_once"),
        ]

    def __str__(self) -> str:
        return f"{self.form} of {self.of}, copy {self.copy}"
