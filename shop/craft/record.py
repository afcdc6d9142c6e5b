"""The as-built record read: plain data, frozen years ago, as lines that a person reads.

Nothing but the record itself is looked at, so that it reads the same whatever the catalogue
and the clocks say by then.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from shop.craft.words import THIN, listed, several

GROUP: Final = 4  # letters of a link that stand together
SHOWN: Final = 16  # letters of a link that are printed: enough to tell it from any other
MINUTE: Final = len("2031-03-14T14:10")

Data = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Part:
    """A line of hardware: its key, what it is, and the lot it came from."""

    key: str
    words: str
    lot: str


@dataclass(frozen=True, slots=True)
class Line:
    """An operation: who had a hand in it, when it counts as done, and what is to be noted."""

    code: str
    name: str
    badges: str
    at: str
    note: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A record ready for a page or a print. All its parts are words."""

    serial: str
    spec: str
    revision: int
    released: str
    pair: str
    paired: str
    facts: tuple[tuple[str, str], ...]
    deviations: tuple[tuple[str, str], ...]
    hardware: tuple[Part, ...]
    operations: tuple[Line, ...]
    asked: tuple[tuple[str, str], ...]
    measures: tuple[tuple[str, str], ...]
    hold: tuple[str, ...]
    looks: tuple[str, ...]
    reworks: tuple[str, ...]
    permits: tuple[str, ...]
    journal: str
    link: str

    @property
    def last_four(self) -> str:
        return self.serial[-4:]


def read(record: Data) -> Sheet:
    """The record as a sheet. Raises ``ValueError`` for a form that is not known here."""
    if record["form"] != 1:
        raise ValueError(f"A record of form {record['form']} cannot be read: this reads form 1.")
    return Sheet(
        serial=record["serial"],
        spec=record["spec"],
        revision=record["revision"],
        released=f"{when(record['released'])} by {listed(record['released_by'])}",
        pair=f"Body {record['serial']}, neck {record['neck']}",
        paired=when(record["paired"]),
        facts=tuple(_facts(record)),
        deviations=tuple((words, approved) for words, approved in record["deviations"]),
        hardware=tuple(_part(one) for one in record["kit"]),
        operations=tuple(_line(one) for one in record["operations"]),
        asked=tuple((one["name"], one["asked"]) for one in record["measures"] if one["asked"]),
        measures=tuple(
            (one["name"], _values(one["values"])) for one in record["measures"] if one["values"]
        ),
        hold=tuple(_hold(record["hold"], record["room"])),
        looks=tuple(
            f"{one['code']} {one['name']}: {listed(one['by'])}, {when(one['at'])}"
            for one in record["inspections"]
        ),
        reworks=tuple(_rework(one) for one in record["reworks"]),
        permits=tuple(
            f"{one['wood']}: paper {one['number']}, noted by {one['by']} {when(one['at'])}"
            for one in record["permits"]
        ),
        journal=f"rows 1 to {record['journal']['rows']}",
        link=grouped(record["journal"]["link"]),
    )


def when(moment: str) -> str:
    """A moment of the record as it is read, by the clock of the shop then.

    >>> when("2031-03-14T14:10+01:00")
    '2031-03-14 14:10'
    """
    return moment[:MINUTE].replace("T", " ")


def grouped(link: str) -> str:
    """The first letters of a link, in groups that the eye can hold.

    >>> grouped("ba7816bf8f01cfea414140de5dae2223")
    'ba78 16bf 8f01 cfea'
    """
    return " ".join(link[at : at + GROUP] for at in range(0, SHOWN, GROUP))


def _facts(record: Data) -> Iterator[tuple[str, str]]:
    woods = [value for name, value in record["build"] if name == "Wood"]
    yield from ((name, value) for name, value in record["build"] if name != "Wood")
    if woods:
        yield "Woods", ", ".join(woods)
    if record["order"]:
        yield "Order", record["order"]
    yield "Due", record["due"]
    if record["destination"]:
        yield "Goes to", record["destination"]


def _part(one: Data) -> Part:
    count = f"{one['quantity']} × " if one["quantity"] > 1 else ""
    instead = f" in place of {one['instead_of']}" if one["instead_of"] else ""
    best_before = f", best before {one['best_before']}" if one["best_before"] else ""
    lot = f"lot {one['lot']}{best_before}" if one["lot"] else "by batch"
    return Part(one["key"], f"{count}{one['name']}{instead}", lot)


def _line(one: Data) -> Line:
    notes = [
        *([f"done {when(one['claimed'])}, recorded late"] if one["claimed"] else []),
        *([f"done {one['times']} times"] if one["times"] > 1 else []),
        *([f"confirmed by {one['made_sure']}"] if one["made_sure"] else []),
    ]
    badges = ", ".join([one["by"], *one["others"]])
    return Line(one["code"], one["name"], badges, when(one["at"]), "; ".join(notes))


def _values(values: Sequence[Sequence[str]]) -> str:
    """The values of a quantity; once where they are all alike."""
    said = {value for _, value in values}
    if len(said) == 1:
        (value,) = said
        return value if len(values) == 1 else f"{value} at {several(len(values), 'place')}"
    return "; ".join(f"{place} {value}" for place, value in values)


def _hold(hold: Data, room: Data) -> Iterator[str]:
    if not hold:
        yield "Not cased."
        return
    again = f", counted from {when(hold['started'])}" if hold["started"] != hold["cased"] else ""
    ready = f", ready {when(hold['ready'])}" if hold["ready"] else ""
    yield f"Cased {when(hold['cased'])}{again}{ready}."
    if hold["paused_min"]:
        yield f"Stood still {_span(hold['paused_min'])}."
    yield from hold["because"]
    if room:
        readings = several(room["readings"], "reading")
        yield f"Room {room['humidity']}, {room['temperature']}, {readings}."
    else:
        yield "The room was not read in these days."


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return " ".join(
        f"{count}{THIN}{unit}" for count, unit in ((hours, "h"), (rest, "min")) if count
    )


def _rework(one: Data) -> str:
    found = f", found at {one['found_at']}" if one["found_at"] else ""
    words = f" ({one['words']})" if one["words"] else ""
    ways = [
        f"opened {when(one['opened'])}",
        *([f"repaired {when(one['repaired'])} by {one['repaired_by']}"] if one["repaired"] else []),
        *([f"closed {when(one['closed'])}"] if one["closed"] else ["still open"]),
    ]
    return f"{one['loop']}: {one['word']}{words}{found}; {', '.join(ways)}"
