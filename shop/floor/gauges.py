"""The measuring tools of the shop: which there are, how each stands, what was read with it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.utils.timezone import localtime

from shop.craft.measuring import study as studies
from shop.craft.measuring.checks import worst_first
from shop.craft.measuring.study import Study
from shop.craft.measuring.tool import Tool
from shop.floor.models import FretHeights, Gauge, GaugeCheck, GaugeStudy, Reading

SHOWN: Final = 20  # checks and studies of a gauge on its page

_NEWEST = GaugeCheck.objects.filter(gauge=OuterRef("pk")).order_by("-on", "-id")
_COLUMNS: Final = (
    "name", "words", "code", "interval_days", "resolution_mm", "checked_on", "passed",
    "deviation_mm", "retired",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Check:
    """One check of a gauge, as it was entered."""

    on: date
    deviation_mm: Decimal | None
    passed: bool
    note: str
    by: str


@dataclass(frozen=True, slots=True)
class Studied:
    """One study of a gauge with what it came to, worked out from its values."""

    id: int
    what: str
    tolerance_mm: Decimal
    values: tuple[tuple[tuple[Decimal, ...], ...], ...]
    by: str
    at: datetime

    @property
    def found(self) -> Study:
        return found_by(self.values, self.tolerance_mm)


@dataclass(frozen=True, slots=True)
class ReadWith:
    """How many values were read with a gauge on one instrument."""

    serial: str
    count: int


def tools(*, retired: bool = False) -> tuple[Tool, ...]:
    """The gauges in use by name, in one statement; ``retired``: those put away as well."""
    rows = _with_newest(Gauge.objects.all() if retired else Gauge.objects.filter(retired=False))
    return tuple(_tool(row) for row in rows.order_by("name").values(*_COLUMNS))


def tool(name: str) -> Tool | None:
    """The gauge that is called so, put away or not."""
    bare = name.replace("\0", "")  # PostgreSQL looks for no such text
    return next((_tool(row) for row in _named(name=bare)), None)


def tool_of_code(code: str) -> Tool | None:
    """The gauge that this tag hangs on, put away or not."""
    return next((_tool(row) for row in _named(code=code)), None)


def by_names(names: Sequence[str]) -> dict[str, Tool]:
    """Those of these gauges that there are, by what they are called."""
    rows = _with_newest(Gauge.objects.filter(name__in=names)).values(*_COLUMNS)
    return {row["name"]: _tool(row) for row in rows}


def by_need(on: date) -> tuple[Tool, ...]:
    """The gauges in use: those not to be believed first, then by how soon they are due."""
    them = {one.name: one for one in tools()}
    return tuple(
        them[name] for name, _ in worst_first([(name, one.due(on)) for name, one in them.items()])
    )


def next_name() -> str:
    """What the next gauge would be called: one more than the highest number so far."""
    numbers = (name.removeprefix("G-") for name in Gauge.objects.values_list("name", flat=True))
    return f"G-{max((int(one) for one in numbers if one.isdecimal()), default=0) + 1:02}"


def checks_of(name: str) -> tuple[Check, ...]:
    """The newest checks of a gauge, newest first."""
    rows = GaugeCheck.objects.filter(gauge__name=name)
    columns = ("on", "deviation_mm", "passed", "note", "by__code")
    return tuple(Check(*row) for row in rows.values_list(*columns)[:SHOWN])


def studies_of(name: str) -> tuple[Studied, ...]:
    """The newest studies of a gauge, newest first."""
    rows = GaugeStudy.objects.filter(gauge__name=name)
    columns = ("id", "what", "tolerance_mm", "values", "by__code", "at")
    return tuple(_studied(*row) for row in rows.values_list(*columns)[:SHOWN])


def read_with(name: str) -> tuple[ReadWith, ...]:
    """What was read with a gauge since its last passed check: each instrument with how many
    values, fret heights among them. A check has no hour, so the day of it is counted in. All
    there ever was, where no check passed."""
    rows = Reading.objects.filter(tool__name=name)
    boards = FretHeights.objects.filter(tool__name=name)
    passed = GaugeCheck.objects.filter(gauge__name=name, passed=True)
    since = passed.values_list("on", flat=True).first()
    if since is not None:
        rows, boards = rows.filter(at__date__gte=since), boards.filter(at__date__gte=since)
    counts = Counter(
        dict(rows.order_by().values_list("instrument__body__serial").annotate(Count("id")))
    )
    entered = (f"entry__data__{one}" for one in ("entered", "flat", "rocker"))
    for serial, *lists in boards.values_list("instrument__body__serial", *entered):
        counts[serial] += sum(map(len, lists))
    return tuple(ReadWith(*one) for one in sorted(counts.items()))


def found_by(values: Sequence[Sequence[Sequence[Decimal]]], tolerance_mm: Decimal) -> Study:
    """What a study came to. Raises ``ValueError`` for values that are none."""
    plain = [[[float(one) for one in cell] for cell in part] for part in values]
    return studies.study(plain, float(tolerance_mm))


def day_of(at: datetime) -> date:
    """The day of a moment on the shop's clock: a check holds to the end of a day."""
    return localtime(at).date()


def _named(**what: str) -> Iterable[dict[str, Any]]:
    rows: Iterable[dict[str, Any]] = _with_newest(Gauge.objects.filter(**what)).values(*_COLUMNS)
    return rows


def _with_newest(rows: QuerySet[Gauge]) -> QuerySet[Gauge]:
    return rows.annotate(
        checked_on=Subquery(_NEWEST.values("on")[:1]),
        passed=Subquery(_NEWEST.values("passed")[:1]),
        deviation_mm=Subquery(_NEWEST.values("deviation_mm")[:1]),
    )


def _tool(row: dict[str, Any]) -> Tool:
    return Tool(**(row | {"passed": bool(row["passed"])}))


def _studied(
    number: int, what: str, tolerance_mm: Decimal, values: Any, by: str, at: datetime
) -> Studied:
    kept = tuple(tuple(tuple(Decimal(one) for one in cell) for cell in part) for part in values)
    return Studied(number, what, tolerance_mm, kept, by, at)
