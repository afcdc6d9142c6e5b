"""What was found wrong: how often and for how many minutes of rework, and what the first of two
looks let through. What was noted by mistake and withdrawn never was."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from django.db.models import (
    Case,
    CharField,
    Count,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce, NullIf

from shop.catalogue import book
from shop.craft import looks
from shop.craft.inspecting.finding_twice import escape_rate
from shop.craft.quality.pareto import Found, Pareto, pareto
from shop.craft.quality.spells import week
from shop.craft.quality.yields import per_hundred
from shop.craft.route import OperationFacts, Route
from shop.floor.deeds.loops import DECIDED
from shop.floor.models import Defect, Entry, Instrument, Step
from shop.floor.spell import One, Ones, Spell, begins, page_of, span

# --- by word ---


@dataclass(frozen=True, slots=True)
class OfWord:
    """A defect word: how often it was found, how often on a hundred instruments inspected
    (``None`` where none was), and the usual minutes of the loops it was sent on."""

    family: str
    word: str
    count: int
    per_hundred: float | None
    minutes: int


@dataclass(frozen=True, slots=True)
class ByWord:
    """What was found in a spell, the commonest word first, and which few make most of it."""

    inspected: int
    words: tuple[OfWord, ...]
    pareto: Pareto


def found(spell: Spell) -> ByWord:
    """The defects noted in a spell by word, with the instruments inspected in it: those that
    were recorded at a look, or at the station asked for, or had a defect found there. Four
    statements."""
    loops = book.every_loop()
    rows = _noted(spell).order_by().annotate(loop=_LOOP)
    counts: dict[tuple[str, str], int] = {}
    each: list[Found] = []
    for family, word, loop, count in (
        rows.values_list("family", "word", "loop")
        .annotate(count=Count("pk"))
        .order_by("-count", "family", "word", "loop")
    ):
        counts[family, word] = counts.get((family, word), 0) + count
        minutes = loops[loop].minutes if loop in loops else 0
        each += [Found(word, family, minutes)] * count
    inspected = _inspected(spell)
    ranked = pareto(each)
    minutes_of = {(one.family, one.word): round(one.minutes) for one in ranked.by_count.bars}
    words = tuple(
        OfWord(
            family, word, count,
            per_hundred(count, inspected) if inspected else None,
            minutes_of[family, word],
        )
        for (family, word), count in sorted(counts.items(), key=lambda one: (-one[1], one[0]))
    )  # fmt: skip
    return ByWord(inspected, words, ranked)


def found_on(spell: Spell, family: str, word: str, page: int = 1, shown: int = 0) -> Ones:
    """The instruments on which a word was found, the newest first. Two statements."""
    return _ones(_noted(spell).filter(family=family, word=word), page, shown)


def _loop_said(rows: QuerySet[Entry]) -> Subquery:
    """The loop that the first of these journal rows says."""
    return Subquery(rows.annotate(sent_on=KT("data__loop")).values("sent_on")[:1])


# A loop goes by the first defect that was sent on it: which one another joined it with, its own
# row of the journal says, of the report or of what was decided.
_DECIDED: Final = Entry.objects.annotate(of=Cast(KT("data__number"), IntegerField())).filter(
    instrument_id=OuterRef("instrument_id"),
    kind=DECIDED,
    outcome="recorded",
    at=OuterRef("decided_at"),
    of=OuterRef("number"),
)
_LOOP: Final = Case(
    When(rework__isnull=True, then=Value("")),
    When(rework__opened_at=F("decided_at"), then=F("rework__loop")),
    default=Coalesce(
        NullIf(_loop_said(Entry.objects.filter(pk=OuterRef("entry_id"))), Value("")),
        _loop_said(_DECIDED.order_by("-seq")),
        F("rework__loop"),
    ),
    output_field=CharField(),
)


def _noted(spell: Spell) -> QuerySet[Defect]:
    rows = Defect.objects.real().filter(at__gte=spell.since, at__lt=spell.until)
    if spell.spec:
        rows = rows.filter(instrument__revision__spec__key=spell.spec)
    if spell.station:
        rows = rows.filter(found_at__in=_codes_at(spell.station))
    return rows


def _codes_at(station: str) -> list[str]:
    """Under which codes something is found at a station: its own, and its operations'."""
    return [station, *(code for _, code, at in book.operations() if at == station)]


def _inspected(spell: Spell) -> int:
    """How many instruments were recorded in the spell at a look, or at the station asked for, or
    have a defect that was found there: what a look scraps is never recorded at it."""
    rows, noted = _recorded(spell), _noted(spell)
    if spell.station:
        rows = rows.filter(operation__station__code=spell.station)
    else:
        looked = _looks()
        rows = rows.filter(operation__code__in=[one.code for one in looked])
        noted = noted.filter(found_at__in=[place for one in looked for place in _at(one)])
    found = noted.order_by().values("instrument_id")
    return found.union(rows.order_by().values("instrument_id")).count()


def _recorded(spell: Spell) -> QuerySet[Step]:
    rows = Step.objects.filter(struck=False, at__gte=spell.since, at__lt=spell.until)
    if spell.spec:
        rows = rows.filter(instrument__revision__spec__key=spell.spec)
    return rows


def specs_built() -> tuple[str, ...]:
    """The specs that were ever built, by their keys; one statement."""
    keys = Instrument.objects.order_by().values_list("revision__spec__key", flat=True)
    return tuple(sorted(keys.distinct()))


# --- what the first look let through ---


@dataclass(frozen=True, slots=True)
class Escapes:
    """How many defects were found only at the second look, of so many instruments looked at
    twice. ``rate`` is ``None`` where none was."""

    escaped: int
    inspected: int

    @property
    def rate(self) -> float | None:
        return escape_rate(self.escaped, self.inspected) if self.inspected else None


def escapes(spell: Spell) -> Escapes:
    """What a second look found in a spell that the first had not said, of the instruments that
    were looked at twice. Whether it came up in the days between is for who reads it: nothing
    here can tell. Three statements."""
    pairs = _pairs(spell.station)
    if not pairs:
        return Escapes(0, 0)
    # A look that found something may be recorded long after, when that is made good.
    found = _at_second(spell, pairs).order_by().values("instrument_id")
    looked = _recorded(spell).filter(_of(pairs, _looked_again)).order_by().values("instrument_id")
    return Escapes(_escaped(spell, pairs).count(), found.union(looked).count())


def escapes_by(spell: Spell, by: Literal["spec", "week"]) -> tuple[Escapes, dict[str, Escapes]]:
    """The same of all, and of each spec by its key or of each week, "2031-W10", the oldest
    first; where none was looked at twice there is none. Three statements, however many specs
    or weeks there are."""
    pairs = _pairs(spell.station)
    if not pairs:
        return Escapes(0, 0), {}
    part = "instrument__revision__spec__key" if by == "spec" else "at"
    found = _at_second(spell, pairs).order_by().values_list("instrument_id", part)
    looked = _recorded(spell).filter(_of(pairs, _looked_again)).order_by()
    rows = list(found.union(looked.values_list("instrument_id", part)))
    only = _escaped(spell, pairs).order_by().values_list(part, flat=True)
    key_of = _key_of(spell, by)
    escaped = Counter(map(key_of, only))
    twice: dict[str, set[int]] = {}
    for number, one in rows:
        twice.setdefault(key_of(one), set()).add(number)
    parts = {key: Escapes(escaped[key], len(twice[key])) for key in sorted(twice)}
    return Escapes(escaped.total(), len({number for number, _ in rows})), parts


def _key_of(spell: Spell, by: Literal["spec", "week"]) -> Callable[[Any], str]:
    """How a spec is called by its key, or a moment by its week."""
    if by == "spec":
        return str
    mondays = spell.weeks
    edges = [begins(one) for one in mondays]
    return lambda at: week(mondays[bisect_right(edges, at) - 1])


def escaped(spell: Spell, page: int = 1, shown: int = 0) -> Ones:
    """The instruments of these, the newest first. Three statements."""
    return _ones(_escaped(spell, _pairs(spell.station)), page, shown)


@dataclass(frozen=True, slots=True)
class _Pair:
    """Two looks, and the revisions whose route has them."""

    first: OperationFacts
    second: OperationFacts
    revisions: tuple[int, ...]


def _pairs(station: str = "") -> list[_Pair]:
    """The pairs of looks on the routes of what was ever built, of one station or of all."""
    revisions: dict[tuple[str, str], list[int]] = {}
    facts: dict[tuple[str, str], tuple[OperationFacts, OperationFacts]] = {}
    for revision, route in _routes():
        for first, second in looks.pairs(route):
            if station in ("", first.station_code, second.station_code):
                facts[first.code, second.code] = first, second
                revisions.setdefault((first.code, second.code), []).append(revision)
    return [_Pair(*facts[key], tuple(revisions[key])) for key in sorted(facts)]


def _looks() -> list[OperationFacts]:
    """The looks on these routes: what proves what was done before, and every second look."""
    found: dict[str, OperationFacts] = {}
    for _, route in _routes():
        proving = (one for one in route.operations if one.proves)
        found |= {one.code: one for one in proving}
        found |= {second.code: second for _, second in looks.pairs(route)}
    return [found[code] for code in sorted(found)]


def _routes() -> Iterator[tuple[int, Route]]:
    """Each revision that was ever built, with its route; one statement."""
    built = Instrument.objects.order_by().values_list("revision_id", "revision__version")
    for revision, version in built.distinct():
        yield revision, book.sheet(revision, version).route


def _of(pairs: Iterable[_Pair], what: Any) -> Q:
    """What holds of any of the pairs; nothing where there is none."""
    either = Q(pk__in=[])
    for one in pairs:
        either |= Q(instrument__revision_id__in=one.revisions) & what(one)
    return either


def _looked_at_first(pair: _Pair) -> Q:
    before = Step.objects.filter(
        instrument_id=OuterRef("instrument_id"), operation__code=pair.first.code,
        struck=False, at__lte=OuterRef("at"),
    )  # fmt: skip
    return Q(Exists(before))


def _looked_again(pair: _Pair) -> Q:
    return Q(operation__code=pair.second.code) & _looked_at_first(pair)


def _found_again(pair: _Pair) -> Q:
    return Q(found_at__in=_at(pair.second)) & _looked_at_first(pair)


def _at(look: OperationFacts) -> tuple[str, str]:
    """Under which codes something is found at a look."""
    return look.code, look.station_code


def _at_second(spell: Spell, pairs: Iterable[_Pair]) -> QuerySet[Defect]:
    rows = Defect.objects.real().filter(at__gte=spell.since, at__lt=spell.until)
    if spell.spec:
        rows = rows.filter(instrument__revision__spec__key=spell.spec)
    return rows.filter(_of(pairs, _found_again))


def _escaped(spell: Spell, pairs: Sequence[_Pair]) -> QuerySet[Defect]:
    """Without what had been said before: the same word at the same place."""
    return _at_second(spell, pairs).filter(_of(pairs, _not_known))


def _not_known(pair: _Pair) -> Q:
    """What the same second look had found already makes another of its kind not known: two
    chips in one zone are two that the first look let through."""
    same = Defect.objects.real().filter(
        instrument_id=OuterRef("instrument_id"), family=OuterRef("family"),
        word=OuterRef("word"), zone=OuterRef("zone"), number__lt=OuterRef("number"),
    )  # fmt: skip
    looked_between = Step.objects.filter(
        instrument_id=OuterRef("instrument_id"), operation__code=pair.first.code, struck=False,
        seq__gt=OuterRef("number"), seq__lt=OuterRef(OuterRef("number")),
    )  # fmt: skip
    before = same.filter(~Q(found_at__in=_at(pair.second)) | Exists(looked_between))
    return Q(~Exists(before), found_at__in=_at(pair.second))


# --- the instruments behind them ---


def _ones(rows: QuerySet[Defect], page: int, shown: int) -> Ones:
    named = rows.order_by("-at", "-pk").values_list(
        "instrument_id", "instrument__body__serial", "instrument__revision__spec__key",
        "instrument__revision_id", "instrument__revision__version", "instrument__finished_at",
        "at", "found_at", "word", "words",
    )  # fmt: skip
    some, later = page_of(list(named[span(page, shown)]), page, shown)
    hidden = _looked_at_once(some)
    return Ones(
        tuple(
            One("" if (row[0], row[7]) in hidden else row[1], row[2], *row[6:8], _said(*row[8:]))
            for row in some
        ),
        later,
    )


def _said(word: str, words: str) -> str:
    return f"{word}, {words}" if words else word


def _looked_at_once(rows: Sequence[tuple[Any, ...]]) -> Collection[tuple[int, str]]:
    """Those found at a first look whose second is still to come, by instrument and place."""
    still: dict[tuple[int, str], str] = {}
    for number, _, _, revision, version, finished, _, found_at, *_ in rows:
        if finished is not None:
            continue
        for first, second in looks.pairs(book.sheet(revision, version).route):
            if found_at in (first.code, first.station_code):
                still[number, found_at] = second.code
    if not still:
        return ()
    done = Step.objects.filter(
        instrument_id__in={number for number, _ in still},
        operation__code__in=set(still.values()),
        void_at__isnull=True,
    )
    taken = set(done.values_list("instrument_id", "operation__code"))
    return {key for key, second in still.items() if (key[0], second) not in taken}
