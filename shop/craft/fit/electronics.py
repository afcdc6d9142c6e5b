"""Electronics and their battery: all there and of one kind (R21), fresh and safe (R35)."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterator
from datetime import date
from decimal import ROUND_CEILING, Decimal

from shop.craft.finding import Basis, Finding
from shop.craft.fit.exchange import exchange, named
from shop.craft.fit.identity import left_to_count
from shop.craft.fit.rule import KitCase, Limit, LineCase, rule
from shop.craft.hardware import Battery, Electronics, Family
from shop.craft.words import several

MONTHS = Limit("R35.months", Decimal(12), "months", "least left at shipping")  # common practice

PARTS = (Family.ELECTRONICS, Family.BATTERY)


@rule(
    "R21", "Electronics and battery as the spec has them", reads=("electronics", "battery", "kind")
)
def complete(case: KitCase) -> Iterator[Finding]:
    yield from _wrong(case)
    if case.spec.electronics and case.call.whole:
        yield from _absent(case)


def _wrong(case: KitCase) -> Iterator[Finding]:
    """Units and batteries that are there and are not this spec's."""
    due = case.spec.electronics
    for line in case.lines:
        part = line.article
        if not isinstance(part, Electronics | Battery) or left_to_count(case.call, part):
            continue
        kind = part.battery if isinstance(part, Electronics) else part.kind
        if kind == due:
            continue
        if not due:
            words = f"{case.spec.name} has no electronics: {named(part)} does not belong in it."
        elif isinstance(part, Electronics):
            words = f"{named(part)} runs on {kind}, {case.spec.name} is made for {due}."
        else:
            words = f"{named(part)} is {kind}, the electronics of {case.spec.name} take {due}."
        yield case.stop(words, exchange(case.call, part), _kinds(case, named(part), kind), "clerk")


def _absent(case: KitCase) -> Iterator[Finding]:
    listed = {line.family for line in (*case.call.kit, *case.missing)}
    there = listed | {line.article.family for line in case.lines}
    for family in PARTS:
        if family not in there:
            yield case.stop(
                f"{family.words.capitalize()} missing: {case.spec.name} has electronics "
                f"for {case.spec.electronics}, and the list has none.",
                f"The lead puts the {family.words} on the list, the clerk adds it.",
                _kinds(case, family.words.capitalize(), "none on the list, none picked"),
            )


def _kinds(case: KitCase, name: str, has: str) -> Basis:
    needs = case.spec.electronics or "no electronics"
    return case.basis((name, has), (case.spec.name, needs), limit="unit and battery of this kind")


@rule(
    "R35",
    "Battery fresh at shipping, and insulated",
    of=Battery,
    reads=("best_before", "ship_on", "insulated"),
    limits=(MONTHS,),
)
def battery(case: LineCase[Battery]) -> Iterator[Finding]:
    yield from _fresh(case)
    yield from _insulated(case)


def _fresh(case: LineCase[Battery]) -> Iterator[Finding]:
    best_before, ship_on = case.line.best_before, case.call.ship_on
    if best_before is None or ship_on is None:
        return
    months = int(case.limit(MONTHS).to_integral_value(ROUND_CEILING))
    due = months_after(ship_on, months)
    if best_before >= due:
        return
    battery = case.article
    yield case.warn(
        f"{named(battery)} is best before {best_before}. The guitar ships {ship_on}: "
        f"less than {several(months, 'month')} are left.",
        "Take one of a fresher lot, or say why this one goes.",
        case.basis(
            (f"Best before, {battery.key}", f"{best_before}"),
            ("Ships", f"{ship_on}"),
            reckoning=f"{ship_on} + {several(months, 'month')} = {due}, after {best_before}",
            uses=(MONTHS,),
        ),
        "clerk",
    )


def months_after(day: date, months: int) -> date:
    """The same day so many months on; the last of the month where it is shorter.

    >>> months_after(date(2028, 2, 29), 12).isoformat()
    '2029-02-28'
    """
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def _insulated(case: LineCase[Battery]) -> Iterator[Finding]:
    for one in case.call.readings.of("insulated"):
        if one.value == 0:
            yield case.warn(
                "The battery's contacts are bare and its switch is on.",
                "Insulate before boxing: cap the contacts, or switch it off.",
                case.basis(
                    (named(case.article), "contacts bare, switched on"),
                    limit="contacts insulated, or its switch off",
                ),
            )


RULES = (complete, battery)
