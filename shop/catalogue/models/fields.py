"""The fields and choices the catalogue's tables share."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from shop.craft import hardware

HANDS = [("RH", "right-handed"), ("LH", "left-handed"), ("any", "either hand")]
METALS = [(metal.value, metal.value) for metal in hardware.Metal]
BUSHINGS = [(kind.value, kind.words) for kind in hardware.Bushing]
CARRIED = [(kind.value, kind.words) for kind in hardware.TunerFamily]


def mm(**extra: Any) -> models.DecimalField[Any, Any]:
    """A length in millimetres, to the micrometre."""
    return models.DecimalField(
        max_digits=7, decimal_places=3, validators=[MinValueValidator(Decimal("0.001"))], **extra
    )


def some_mm(**extra: Any) -> models.DecimalField[Any, Any]:
    """A length that this article or spec may not have."""
    return mm(null=True, blank=True, **extra)


def positive(table: str, *names: str) -> list[models.BaseConstraint]:
    """Each named number is above zero wherever it exists."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{name}__gt": 0}) | Q(**{f"{name}__isnull": True}),
            name=f"{table}_{name}_positive",
        )
        for name in names
    ]
