"""The as-built record read: plain data, frozen years ago, as lines that a person reads.

Nothing but the record itself is looked at, so that it reads the same whatever the catalogue
and the clocks say by then.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from shop.craft.words import THIN, listed

GROUP: Final = 4  # letters of a link that stand together
SHOWN: Final = 16  # letters of a link that are printed: enough to tell it from any other
FORMS: Final = (1, 2, 3)
"""The first said nothing of defects, the first two nothing of what the first look measured."""
MINUTE: Final = len("2031-03-14T14:10")
MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d[+-]\d\d:\d\d")
"""A moment inside a sentence of the record. Older records have weekdays there, which stay."""

Data = Mapping[str, Any]

Say = Callable[[str], str]
"""Gives the words of this file in the language of who reads, with the same %(names)s in them.
It goes by the name ``_`` here: by it the words are collected for who translates them."""


def as_written(words: str) -> str:
    return words


BECAME: Final = {
    "rework": "rework",
    "touch-up": "touch-up",
    "accept as is": "accepted as it is",
    "seconds": "sold as seconds",
    "hold for decision": "held for decision",
    "return": "returned to its makers",
    "scrap": "scrap",
    "cannibalise": "scrap, its parts kept",
}
"""What became of a defect, by how the record keeps it."""


@dataclass(frozen=True, slots=True)
class Part:
    """A line of hardware: its key, what it is, and the lot it came from, where that is known."""

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
    defects: tuple[str, ...]
    reworks: tuple[str, ...]
    woods: tuple[str, ...]
    permits: tuple[str, ...]
    journal: str
    link: str

    @property
    def last_four(self) -> str:
        return self.serial[-4:]


class Unreadable(ValueError):
    """A record that cannot be read here; the text says why."""


def read(record: Any, _: Say = as_written) -> Sheet:
    """The record as a sheet: what was frozen in the words of its day, what is said of it in
    those of ``_``. Raises ``Unreadable`` for a form that is not known here, and for what is not
    made as a record is."""
    if not isinstance(record, Mapping):
        raise Unreadable("It is not made as a record is.")
    form = record.get("form")
    if form not in FORMS:
        known = listed([str(one) for one in FORMS])
        raise Unreadable(f"A record of form {form} cannot be read: this reads {known}.")
    try:
        return _sheet(record, _)
    except (AttributeError, IndexError, KeyError, TypeError, ValueError) as why:
        raise Unreadable("It lacks a part, or has something else in its place.") from why


def _sheet(record: Data, _: Say) -> Sheet:
    return Sheet(
        serial=record["serial"],
        spec=record["spec"],
        revision=record["revision"],
        released=_("%(when)s by %(badges)s")
        % {"when": when(record["released"]), "badges": _listed(record["released_by"], _)},
        pair=_("Body %(body)s, neck %(neck)s") % {"body": record["serial"], "neck": record["neck"]},
        paired=when(record["paired"]),
        facts=tuple(_facts(record, _)),
        deviations=tuple((words, approved) for words, approved in record["deviations"]),
        hardware=tuple(_part(one, _) for one in record["kit"]),
        operations=tuple(_line(one, _) for one in record["operations"]),
        asked=tuple((one["name"], one["asked"]) for one in record["measures"] if one["asked"]),
        measures=tuple(
            (one["name"], _measured(one, _)) for one in record["measures"] if one["values"]
        ),
        hold=tuple(_hold(record["hold"], record["room"], _)),
        looks=tuple(
            f"{one['code']} {one['name']}: {_listed(one['by'], _)}, {when(one['at'])}"
            for one in record["inspections"]
        ),
        defects=tuple(_defect(one, _) for one in record.get("defects", ())),
        reworks=tuple(_rework(one, _) for one in record["reworks"]),
        woods=tuple(value for name, value in record["build"] if name == "Wood"),
        permits=tuple(
            _("%(wood)s: paper %(number)s, noted by %(by)s %(when)s")
            % {**one, "when": when(one["at"])}
            for one in record["permits"]
        ),
        journal=_("rows 1 to %(last)s") % {"last": record["journal"]["rows"]},
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


def _facts(record: Data, _: Say) -> Iterator[tuple[str, str]]:
    yield from ((name, value) for name, value in record["build"] if name != "Wood")
    if record["order"]:
        yield _("Order"), record["order"]
    yield _("Due"), record["due"]
    if record["destination"]:
        yield _("Goes to"), record["destination"]


def _part(one: Data, _: Say) -> Part:
    count = f"{one['quantity']} × " if one["quantity"] > 1 else ""
    instead = _("in place of %(key)s") % {"key": one["instead_of"]} if one["instead_of"] else ""
    words = f"{count}{one['name']} {instead}".rstrip()
    if not one["lot"]:
        return Part(one["key"], words, _("no lot on record"))
    lot = _("lot %(lot)s") % one
    if one["best_before"]:
        lot = f"{lot}, {_('best before %(best_before)s') % one}"
    return Part(one["key"], words, lot)


def _line(one: Data, _: Say) -> Line:
    notes = []
    if one["claimed"]:
        notes.append(_("done %(when)s, recorded late") % {"when": when(one["claimed"])})
    if one["times"] > 1:
        notes.append(_("done %(times)s times") % one)
    if one["made_sure"]:
        notes.append(_("confirmed by %(made_sure)s") % one)
    badges = ", ".join([one["by"], *one["others"]])
    return Line(one["code"], one["name"], badges, when(one["at"]), "; ".join(notes))


def _measured(one: Data, _: Say) -> str:
    """The values of a quantity, and beside them those of the first look where it has its own."""
    values = _values(one["values"], _)
    first = one.get("first")
    if not first:
        return values
    return _("%(values)s (first look: %(first)s)") % {
        "values": values,
        "first": _values(first, _),
    }


def _values(values: Sequence[Sequence[str]], _: Say) -> str:
    """The values of a quantity; once where they are all alike."""
    said = {value for place, value in values}
    if len(values) > 1 and len(said) == 1:
        return _("%(value)s at %(count)s places") % {
            "value": _(values[0][1]),  # an answer is a message, a measure stays what it is
            "count": len(values),
        }
    if len(values) == 1:
        return values[0][1]
    return "; ".join(f"{place} {value}" for place, value in values)


def _hold(hold: Data, room: Data, _: Say) -> Iterator[str]:
    if not hold:
        yield _("Not cased.")
        return
    told = [_("Cased %(when)s") % {"when": when(hold["cased"])}]
    if hold["started"] != hold["cased"]:
        told.append(_("counted from %(when)s") % {"when": when(hold["started"])})
    if hold["ready"]:
        told.append(_("ready %(when)s") % {"when": when(hold["ready"])})
    yield f"{', '.join(told)}."
    if hold["paused_min"]:
        yield _("Stood still %(span)s.") % {"span": _span(hold["paused_min"])}
    yield from (MOMENT.sub(lambda it: when(it[0]), words) for words in hold["because"])
    if not room:
        yield _("The room was not read in these days.")
    elif room["readings"] == 1:
        yield _("Room %(humidity)s, %(temperature)s, 1 reading.") % room
    else:
        yield _("Room %(humidity)s, %(temperature)s, %(readings)s readings.") % room


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return " ".join(
        f"{count}{THIN}{unit}" for count, unit in ((hours, "h"), (rest, "min")) if count
    )


def _defect(one: Data, _: Say) -> str:
    named = _("%(word)s, class %(grade)s") % {"word": one["word"], "grade": one["grade"]}
    place = f", {one['place']}" if one["place"] else ""
    words = f" ({one['words']})" if one["words"] else ""
    found = _("noted %(when)s by %(by)s") % {"when": when(one["at"]), "by": one["by"]}
    at = f", {_('found at %(found_at)s') % one}" if one["found_at"] else ""
    if not one["decided"]:
        return f"{named}{place}{words}{at}; {found}, {_('not decided')}"
    loop = f" {one['loop']}" if one["loop"] else ""
    became: str = one["became"]
    decided = _("%(became)s, decided %(when)s by %(badges)s: %(reason)s") % {
        "became": f"{_(BECAME.get(became, became))}{loop}",
        "when": when(one["decided"]),
        "badges": _listed(one["decided_by"], _),
        "reason": one["reason"],
    }
    return f"{named}{place}{words}{at}; {found}; {decided}"


def _rework(one: Data, _: Say) -> str:
    words = f" ({one['words']})" if one["words"] else ""
    found = f", {_('found at %(found_at)s') % one}" if one["found_at"] else ""
    ways = [_("opened %(when)s") % {"when": when(one["opened"])}]
    if one["repaired"]:
        ways.append(
            _("repaired %(when)s by %(by)s")
            % {"when": when(one["repaired"]), "by": one["repaired_by"]}
        )
    closed = _("closed %(when)s") % {"when": when(one["closed"])} if one["closed"] else ""
    ways.append(closed or _("still open"))
    return f"{one['loop']}: {one['word']}{words}{found}; {', '.join(ways)}"


def _listed(parts: Sequence[str], _: Say) -> str:
    """The parts as one phrase, as ``shop.craft.words.listed`` has it."""
    *most, last = parts
    return _("%(most)s and %(last)s") % {"most": ", ".join(most), "last": last} if most else last
