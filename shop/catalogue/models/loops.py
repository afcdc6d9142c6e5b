"""Rework loops: what is repaired, how long that dries, and what is done again after it."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from shop.catalogue.models.fields import positive
from shop.catalogue.models.work import Operation, Station
from shop.craft import rework
from shop.craft.words import listed


def are_families(names: object) -> None:
    """Raises ``ValidationError`` unless this is a list of families of defects, each once."""
    given = names if isinstance(names, list) else [names]
    if any(one not in rework.FAMILIES or given.count(one) > 1 for one in given):
        raise ValidationError(f"Name families of defects, each once: {listed(rework.FAMILIES)}.")


class Loop(models.Model):
    """A repair with all that comes after it. Instruments keep the loop they were sent on."""

    key = models.CharField(max_length=24, help_text="Its short name: bridge lift.")
    title = models.CharField(max_length=60)
    triggers = models.CharField(max_length=200, help_text="What was seen or measured.")
    families = models.JSONField(
        default=list,
        blank=True,
        validators=[are_families],
        help_text="The families of defects that lead here.",
    )
    work = models.CharField(max_length=300, help_text="What is done, as a short order.")
    station = models.ForeignKey(
        Station, models.PROTECT, related_name="loops", help_text="Where it is repaired."
    )
    redo = models.CharField(
        max_length=120,
        blank=True,
        help_text="Operations and checks done again after it: G20 G30 G40.",
    )
    minutes = models.PositiveSmallIntegerField(help_text="Usual touch minutes of the repair.")
    dry_h = models.PositiveSmallIntegerField(
        default=0, help_text="Hours the repair itself dries at least."
    )
    per_mm = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.01"))],
        help_text="So many hours for each layer of this depth in mm; empty: whatever the depth.",
    )
    most_h = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Hours it dries at most, however deep."
    )
    keeps_hold = models.BooleanField(
        default=False, help_text="Strings stay at pitch: days in the case only stand still."
    )
    unpairs = models.BooleanField(
        default=False, help_text="Neck and body may come apart for good by it."
    )
    active = models.BooleanField(default=True, help_text="Off: not to be chosen any more.")

    class Meta:
        ordering: ClassVar = ["key"]
        verbose_name = "rework loop"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["key"], name="loop_key_once"),
            *positive("loop", "minutes", "per_mm"),
            models.CheckConstraint(
                condition=Q(per_mm__isnull=True) | Q(dry_h__gt=0),
                name="loop_layers_dry",
                violation_error_message="Say how many hours each layer dries.",
            ),
            models.CheckConstraint(
                condition=Q(most_h__isnull=True) | Q(most_h__gte=F("dry_h")),
                name="loop_most_not_below_least",
                violation_error_message="It dries longer at least than at most. Change one.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        codes = self.redo.split()
        known = set(Operation.objects.filter(code__in=codes).values_list("code", flat=True))
        if unknown := [code for code in codes if code not in known]:
            raise ValidationError(
                {"redo": f"{listed(unknown)}: no operation is called so. Write codes: G20 G30."}
            )
        if len(known) != len(codes):
            raise ValidationError({"redo": "An operation stands twice. Leave one of the two out."})

    def facts(self) -> rework.LoopFacts:
        return rework.LoopFacts(
            key=self.key,
            title=self.title,
            triggers=self.triggers,
            families=tuple(self.families),
            work=self.work,
            station=self.station.name,
            station_code=self.station.code,
            redo=tuple(self.redo.split()),
            minutes=self.minutes,
            dry_h=self.dry_h,
            per_mm=self.per_mm,
            most_h=self.most_h,
            keeps_hold=self.keeps_hold,
            unpairs=self.unpairs,
        )
