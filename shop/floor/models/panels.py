"""Seeded panels: what was put on each of them, and what two inspectors called.

Who called is kept nowhere here. A call bears a token, the same for all of one person's calls
on one set and another one on the next: enough to tell two apart, and no more.
"""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from shop.floor.models.journal import Entry


class PanelSet(models.Model):
    """Panels that two inspectors look at, each by themselves."""

    number = models.PositiveIntegerField(help_text="As it is called: set 3.")
    words = models.CharField(max_length=60, help_text="What panels they are.")
    away = models.BooleanField(default=False, help_text="Put away: nobody looks at it any more.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="+",
        db_index=False,
        help_text="Who put the defects on it, and so cannot look at it.",
    )
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["number"], name="panel_set_number_once")
        ]

    def __str__(self) -> str:
        return f"set {self.number}"


class Panel(models.Model):
    """One panel of a set, and the defects that were put on it; none on some."""

    name = models.CharField(max_length=16, help_text="Set and number: 3-07.")
    of = models.ForeignKey(PanelSet, models.PROTECT, related_name="panels", db_index=False)
    number = models.PositiveSmallIntegerField(help_text="Within its set, from 1.")
    spots = models.JSONField(default=list, help_text="Of each defect its field, family and word.")

    class Meta:
        ordering: ClassVar = ["of", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["name"], name="panel_name_once"),
            models.UniqueConstraint(fields=["of", "number"], name="panel_number_once"),
        ]

    def __str__(self) -> str:
        return self.name


class PanelCall(models.Model):
    """What one inspector called on one panel."""

    panel = models.ForeignKey(Panel, models.PROTECT, related_name="calls", db_index=False)
    token = models.CharField(max_length=16, help_text="One for all calls of a person on a set.")
    found = models.BooleanField(help_text="Whether a defect was called.")
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["panel", "token"], name="panel_call_once")
        ]

    def __str__(self) -> str:
        return f"{self.panel}: {'found' if self.found else 'nothing'}"
