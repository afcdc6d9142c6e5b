"""What leaves: instruments in their cartons, and the lists by which a carrier takes them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.floor.models.instruments import Instrument
from shop.floor.models.journal import Entry


class Manifest(models.Model):
    """Cartons that one carrier took at one time."""

    number = models.CharField(max_length=8, help_text="As it is called: M-0001.")
    carrier = models.CharField(max_length=40)
    counted = models.PositiveSmallIntegerField(help_text="Cartons, as a person counted them.")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["number"], name="manifest_number_once")
        ]

    def __str__(self) -> str:
        return self.number


class Carton(models.Model):
    """An instrument in its carton, once case, label and record were found to be of one. It
    counts as long as the instrument is released and boxed, and no later one is there."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="cartons")
    label = models.CharField(max_length=7, help_text="The code on its label.")
    case = models.CharField(max_length=7, help_text="The code that was scanned on the case.")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    manifest = models.ForeignKey(Manifest, models.PROTECT, null=True, related_name="cartons")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [
            models.Index(fields=["at"], condition=Q(manifest__isnull=True), name="carton_here")
        ]

    def __str__(self) -> str:
        return f"{self.instrument} in its carton"
