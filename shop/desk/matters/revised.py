"""What differs between two revisions of a spec, in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Final

from shop.catalogue.book import Sheet
from shop.craft.when import span_words
from shop.craft.words import listed


def changes(before: Sheet, after: Sheet) -> Iterator[str]:
    """What a guitar of the one revision gets otherwise when it is built to the other."""
    said = [
        *_kit(before, after),
        *_operations(before, after),
        *_waits(before, after),
        *_targets(before, after),
        *_measures(before, after),
    ]
    yield from said or ["Nothing that is built, measured or waited for differs."]


def _kit(before: Sheet, after: Sheet) -> Iterator[str]:
    old, new = ({(one.article.key, one.quantity) for one in sheet.kit} for sheet in (before, after))
    for word, lines in (("Out of", old - new), ("Into", new - old)):
        if lines:
            named = listed([f"{count} × {key}" for key, count in sorted(lines)])
            yield f"{word} the kit: {named}."


def _operations(before: Sheet, after: Sheet) -> Iterator[str]:
    old, new = ([one.code for one in sheet.stops] for sheet in (before, after))
    if gone := [code for code in old if code not in new]:
        yield f"Off the route: {listed(gone)}."
    if more := [code for code in new if code not in old]:
        yield f"New on the route: {listed(more)}."


def _waits(before: Sheet, after: Sheet) -> Iterator[str]:
    old, new = (
        {one.clock: one.wait for one in sheet.route.precedences if one.clock}
        for sheet in (before, after)
    )
    for clock in dict.fromkeys((*old, *new)):
        then, now = old.get(clock), new.get(clock)
        if then != now:
            was, becomes = (span_words(one) if one is not None else "none" for one in (then, now))
            yield f"Wait {clock}: {was} becomes {becomes}."


def _targets(before: Sheet, after: Sheet) -> Iterator[str]:
    old = dict(before.targets)
    for name, value in after.targets:
        if old.get(name) != value:
            yield f"{name.capitalize()}: {old.get(name, 'none')} becomes {value}."
    for name, was, becomes in (
        ("Joint", before.joint, after.joint),
        ("Finish", before.finish, after.finish),
    ):
        if was != becomes:
            yield f"{name}: {was} becomes {becomes}."


def _measures(before: Sheet, after: Sheet) -> Iterator[str]:
    """The spec's own facts: those of one figure or word by name, the others counted in one."""
    more = []
    for one in fields(after.spec):
        was, becomes = getattr(before.spec, one.name), getattr(after.spec, one.name)
        if was == becomes or one.name == "revision":
            continue
        if isinstance(becomes, tuple):
            more.append(_named(one.name))
        else:
            name = _named(one.name)
            yield f"{name[:1].upper()}{name[1:]}: {was} becomes {becomes}."
    if more:
        yield f"Otherwise too: {listed(more)}."


UNITS: Final = {"mm": "mm", "deg": "°", "n": "N"}


def _named(column: str) -> str:
    """A dimension as it is said: ``nut_width_mm`` is "nut width, mm"."""
    words, _, unit = column.rpartition("_")
    if unit in UNITS:
        return f"{words.replace('_', ' ')}, {UNITS[unit]}"
    return column.replace("_", " ")
