"""A usual guitar with the one thing changed that a test is about.

:func:`fitted` takes the usual kit of a spec from :mod:`tests.craft.bench`, changes facts of
the spec or of its parts, and asks every fit rule. The parts stay the ones ordered, so that
nothing but fit is judged.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from shop.craft import fit
from shop.craft.finding import Finding, worst_first
from shop.craft.hardware import Article, Call, Picked, SetLimit, SpecFacts, Wanted
from shop.craft.reading import Reading, Readings
from tests.craft.bench import ARTICLES, KITS, SERIAL, SPECS

Facts = Mapping[str, Any]
Read = Mapping[tuple[str, str], str]  # a value by its quantity and place

SET_BY, SET_ON, SET_WHY = "P-01", date(2031, 3, 3), "tried on ten guitars"


def changed(key: str, /, **facts: Any) -> Article:
    """An article of the bench with some of its facts changed, if wanted its key too."""
    return replace(ARTICLES[key], **facts)


def parts_of(spec: str, **parts: Facts) -> tuple[Article, ...]:
    """The usual kit of a spec, facts changed by family: ``saddle={"strings": 12}``."""
    usual = [ARTICLES[key] for key in KITS[spec].split()]
    missed = set(parts) - {one.family.value for one in usual}
    assert not missed, f"{spec} has no {missed} to change."
    return tuple(replace(one, **parts.get(one.family.value, {})) for one in usual)


def readings_of(read: Read) -> Readings:
    return Readings(
        tuple(Reading(quantity, place, Decimal(said)) for (quantity, place), said in read.items())
    )


def with_limits(spec: SpecFacts, limits: Mapping[str, str | Decimal]) -> SpecFacts:
    """The spec with these limits set by its lead."""
    put = tuple(
        (name, SetLimit(Decimal(value), SET_BY, SET_ON, SET_WHY)) for name, value in limits.items()
    )
    return replace(spec, limits=put)


def fitted(
    key: str,
    *,
    spec: Facts | None = None,
    read: Read | None = None,
    limits: Mapping[str, str | Decimal] | None = None,
    best_before: date | None = None,
    ship_on: date | None = None,
    **parts: Facts,
) -> tuple[Finding, ...]:
    """What every fit rule says of this spec's usual kit, worst first, after the changes."""
    articles = parts_of(key, **parts)
    call = Call(
        serial=SERIAL,
        spec=with_limits(replace(SPECS[key], **(spec or {})), limits or {}),
        kit=tuple(Wanted(key=one.key, name=one.name, family=one.family) for one in articles),
        readings=readings_of(read or {}),
        ship_on=ship_on,
    )
    lines = [Picked(article=one, best_before=best_before) for one in articles]
    return worst_first(dict.fromkeys(fit.of_lines(call, lines)))


def rules(findings: tuple[Finding, ...]) -> list[str]:
    return [one.rule for one in findings]


def explained(one: Finding) -> bool:
    """Whether a finding says what it rests on: at least one side, what is allowed, whose."""
    why = one.basis
    return bool(why and why.title and why.sides and why.limit and why.origin)
