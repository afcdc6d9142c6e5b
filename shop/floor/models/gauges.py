"""The measuring tools of the shop: each with its tag, its checks, and how well it repeats."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.floor.models.journal import Entry


class Gauge(models.Model):
    """A measuring tool with a tag of its own. One that is put away stays for what it read."""

    code = models.CharField(max_length=7, help_text="On its tag.")
    name = models.CharField(max_length=8, help_text="As it is called on the floor: G-01.")
    words = models.CharField(max_length=40, help_text="What it is: feeler set.")
    resolution_mm = models.DecimalField(
        max_digits=6, decimal_places=4, null=True, help_text="None where it reads no length."
    )
    interval_days = models.PositiveSmallIntegerField(help_text="From one check to the next.")
    retired = models.BooleanField(default=False, help_text="Put away: nobody measures with it.")

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="gauge_code_once"),
            models.UniqueConstraint(fields=["name"], name="gauge_name_once"),
            models.CheckConstraint(condition=Q(interval_days__gt=0), name="gauge_is_checked_again"),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.words}"


class GaugeCheck(models.Model):
    """A gauge was held against what is known, and passed or did not."""

    gauge = models.ForeignKey(Gauge, models.PROTECT, related_name="checks", db_index=False)
    on = models.DateField(help_text="The day it was checked.")
    deviation_mm = models.DecimalField(
        max_digits=7, decimal_places=4, null=True, help_text="Shown less what it should have been."
    )
    passed = models.BooleanField()
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(help_text="When it was entered.")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-on", "-id"]
        indexes: ClassVar = [models.Index(fields=["gauge", "-on", "-id"], name="check_newest")]

    def __str__(self) -> str:
        return f"{self.gauge} checked {self.on}"


class GaugeStudy(models.Model):
    """The same parts measured again and again by several people with one gauge."""

    gauge = models.ForeignKey(Gauge, models.PROTECT, related_name="studies", db_index=False)
    what = models.CharField(max_length=60, help_text="What was measured.")
    tolerance_mm = models.DecimalField(
        max_digits=7, decimal_places=4, help_text="From the least that fits to the most."
    )
    # Values as they were entered, in mm: of each part, by each person, each trial.
    values = models.JSONField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]
        verbose_name_plural = "gauge studies"
        indexes: ClassVar = [models.Index(fields=["gauge", "-id"], name="study_newest")]

    def __str__(self) -> str:
        return f"{self.what} with {self.gauge}"
