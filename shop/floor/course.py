"""What an instrument is in the middle of: as plain data in its row, as facts for craft."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from shop.craft.clocks import Happening, What
from shop.craft.route import Done
from shop.craft.start import Decided, Frozen, OpenStep, Rework, Undecided

Row = dict[str, Any]


def moment(kept: str) -> datetime:
    return datetime.fromisoformat(kept)


def open_step(kept: Mapping[str, Any]) -> OpenStep | None:
    """The step that was begun and is not recorded yet."""
    if not kept:
        return None
    return OpenStep(
        operation=kept["operation"],
        by=kept["by"],
        since=moment(kept["since"]),
        helpers=tuple(kept.get("helpers", ())),
        parked=kept.get("parked", False),
        unsure=kept.get("unsure", False),
        note=kept.get("note", ""),
    )


def open_step_row(one: OpenStep | None) -> Row:
    if one is None:
        return {}
    return {
        "operation": one.operation,
        "by": one.by,
        "since": one.since.isoformat(),
        "helpers": list(one.helpers),
        "parked": one.parked,
        "unsure": one.unsure,
        "note": one.note,
    }


def frozen(kept: Mapping[str, Any]) -> Frozen | None:
    if not kept:
        return None
    found_at, found_by = kept.get("found_at", ""), kept.get("found_by", "")
    return Frozen(kept["words"], kept["by"], moment(kept["since"]), found_at, found_by)


def frozen_row(one: Frozen | None) -> Row:
    if one is None:
        return {}
    found = {"found_at": one.found_at, "found_by": one.found_by} if one.found_by else {}
    return {"words": one.words, "by": one.by, "since": one.since.isoformat()} | found


def rework(kept: Mapping[str, Any]) -> Rework | None:
    if not kept:
        return None
    dry_until = kept.get("dry_until")
    return Rework(
        loop=kept["loop"],
        words=kept["words"],
        since=moment(kept["since"]),
        stage=kept["stage"],
        redo=tuple(kept["redo"]),
        dry_until=moment(dry_until) if dry_until else None,
        found=tuple((at, by) for at, by in kept.get("found", ())),
    )


def rework_row(one: Rework | None) -> Row:
    if one is None:
        return {}
    return {
        "loop": one.loop,
        "words": one.words,
        "since": one.since.isoformat(),
        "stage": one.stage,
        "redo": list(one.redo),
        "dry_until": one.dry_until.isoformat() if one.dry_until else None,
    } | ({"found": [list(it) for it in one.found]} if one.found else {})


def happenings(kept: Sequence[Sequence[Any]]) -> tuple[Happening, ...]:
    """Out of [what, at, until or nothing, hours of cure]."""
    return tuple(
        Happening(What(what), moment(at), moment(until) if until else None, timedelta(hours=cure_h))
        for what, at, until, cure_h in kept
    )


def happening_row(one: Happening) -> list[Any]:
    until = one.until.isoformat() if one.until else None
    return [one.what.value, one.at.isoformat(), until, int(one.cure / timedelta(hours=1))]


def undecided(kept: Sequence[Sequence[Any]]) -> tuple[Undecided, ...]:
    """Out of [number, family, word, class, zone, disposition, at, found at, found by]; the last
    two are not in the rows of before."""
    return tuple(
        Undecided(number, family, word, grade, zone, disposition, moment(at), *found)
        for number, family, word, grade, zone, disposition, at, *found in kept
    )


def undecided_rows(them: Sequence[Undecided]) -> list[list[Any]]:
    return [_undecided_row(one) for one in them]


def _undecided_row(one: Undecided) -> list[Any]:
    row = [one.number, one.family, one.word, one.grade, one.zone, one.disposition]
    # One that was kept without who found it where is kept so again.
    found = [one.found_at, one.found_by] if one.found_by else []
    return [*row, one.at.isoformat(), *found]


def decided(kept: Sequence[Sequence[Any]]) -> tuple[Decided, ...]:
    """Out of [number, found at, badges]."""
    return tuple(Decided(number, found_at, tuple(hands)) for number, found_at, hands in kept)


def decided_row(one: Decided) -> list[Any]:
    return [one.number, one.found_at, list(one.hands)]


def repairs(kept: Sequence[Sequence[Any]]) -> tuple[Done, ...]:
    """Out of [loop, badge, at, other badges]."""
    return tuple(Done(loop, by, moment(at), tuple(others)) for loop, by, at, others in kept)


def longer(kept: Mapping[str, int]) -> dict[str, timedelta]:
    return {clock: timedelta(hours=hours) for clock, hours in kept.items()}
