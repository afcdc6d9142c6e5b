"""The fields and choices the catalogue's tables share."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from shop.craft import hardware
from shop.craft.size import Tolerance

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


def from_zero_mm(**extra: Any) -> models.DecimalField[Any, Any]:
    """A length that a spec may leave open, and that may be nothing."""
    return models.DecimalField(
        max_digits=7,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
        **extra,
    )


def tolerances_of(text: str) -> tuple[tuple[str, Tolerance], ...]:
    """``bushing_od_mm -0.02/0; post_mm -0.01/+0.01`` as limits by dimension.

    Raises ``ValidationError`` where a part is not a dimension and its lower and upper
    deviation, lower first.
    """
    found = []
    for part in filter(None, (one.strip() for one in text.split(";"))):
        dimension, _, both = part.partition(" ")
        lower, _, upper = both.partition("/")
        try:
            found.append((dimension, Tolerance(Decimal(lower.strip()), Decimal(upper.strip()))))
        except (InvalidOperation, ValueError):
            raise ValidationError(
                f"{part}: write the dimension, the lower and the upper deviation in mm: "
                "bushing_od_mm -0.02/0"
            ) from None
    return tuple(found)


def are_tolerances(text: str) -> None:
    """Raises ``ValidationError`` unless :func:`tolerances_of` reads it."""
    tolerances_of(text)


def tolerances() -> models.CharField[Any, Any]:
    """How far dimensions may lie from their nominals, as declared."""
    return models.CharField(
        max_length=400,
        blank=True,
        validators=[are_tolerances],
        help_text="Lower/upper in mm: bushing_od_mm -0.02/0; post_mm -0.01/+0.01",
    )


def dimensions(row: models.Model) -> dict[str, Decimal]:
    """The lengths this article or spec really has, by the name of the dimension."""
    names = [one.name for one in row._meta.fields if isinstance(one, models.DecimalField)]
    found = {name: getattr(row, name) for name in names if name.endswith("_mm")}
    return {name: value for name, value in found.items() if value is not None}


def tolerances_are_of(row: models.Model, text: str) -> None:
    """Raises ``ValidationError`` unless each tolerance is of a length the row has, given
    once, and narrower than that length."""
    try:
        found = tolerances_of(text)
    except ValidationError:
        return  # the field says so itself
    lengths, seen = dimensions(row), set()
    for name, one in found:
        if name not in lengths:
            has = ", ".join(lengths) or "none"
            raise _about_tolerances(f"{name} is no length of this one. It has: {has}.")
        if name in seen:
            raise _about_tolerances(f"{name} stands twice. Leave one of the two out.")
        # Never true of what is no number; an infinite one is wider than anything.
        if not -lengths[name] < one.lower_mm <= one.upper_mm < lengths[name]:
            wide = f"{name} {one.lower_mm}/{one.upper_mm} is wider than its {lengths[name]} mm."
            raise _about_tolerances(f"{wide} Check the decimal point.")
        seen.add(name)


def _about_tolerances(words: str) -> ValidationError:
    return ValidationError({"tolerances": words})


def positive(table: str, *names: str) -> list[models.BaseConstraint]:
    """Each named number is above zero wherever it exists."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{name}__gt": 0}) | Q(**{f"{name}__isnull": True}),
            name=f"{table}_{name}_positive",
        )
        for name in names
    ]


def not_negative(table: str, *names: str) -> list[models.BaseConstraint]:
    """Each named number is zero or more wherever it exists."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{name}__gte": 0}) | Q(**{f"{name}__isnull": True}),
            name=f"{table}_{name}_not_negative",
        )
        for name in names
    ]
