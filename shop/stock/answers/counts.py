"""Which bins are to be counted, and what counting them came to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import F, Max, Q
from django.utils import timezone

from shop.catalogue import book
from shop.craft import counting
from shop.craft.counting import Accuracy, CountJudged, CountRule
from shop.craft.hardware import Article, Family
from shop.stock.models import Lot, LotCount, StockRule, TrayLine

# A count that two people ended apart is none.
SETTLED = Q(counts__ended__in=("agreed", "adjusted"))
SHOWN = 500  # counts of the list that looks back


def count_rule(family: str, kept: StockRule | None) -> CountRule:
    """How an item of this family is counted. An item that nothing is told of is of class C."""
    row = kept or StockRule()
    return counting.rule(
        row.cls, family == Family.TUNERS.value, row.count_every_days, row.tolerance_pct
    )


@dataclass(frozen=True, slots=True)
class ToCount:
    """A lot whose bin is to be counted, and nothing of what the figures say."""

    lot_id: int
    bin: str
    key: str
    name: str
    code: str
    piece: str
    cls: str
    last: date | None
    every_days: int
    count_id: int | None  # the count that waits for a second one
    counted_by: str
    counted_at: datetime | None

    @property
    def short_words(self) -> str:
        """Words a filter looks in."""
        return f"{self.bin} {self.key} {self.name} {self.code} class {self.cls}"


def to_count(today: date) -> list[ToCount]:
    """Every lot to be counted, in two statements: those that wait for a second count, then
    what is due, class A first, bin by bin."""
    second = {row.lot_id: row for row in LotCount.objects.filter(ended="").select_related("by")}
    lots = (
        Lot.objects.filter(Q(on_hand__gt=0) | Q(pk__in=[*second]))
        .select_related("item__stock_rule", "bin")
        .annotate(last=Max("counts__at", filter=SETTLED))
    )
    found = []
    for lot in lots:
        kept = getattr(lot.item, "stock_rule", None)
        rule, last = count_rule(lot.item.family, kept), _day(lot.last)
        waits = second.get(lot.pk)
        if waits is None and not rule.is_due(last, today):
            continue
        found.append(
            ToCount(
                lot_id=lot.pk,
                bin=lot.bin.code,
                key=lot.item.key,
                name=lot.item.name,
                code=lot.code,
                piece=lot.piece,
                cls=kept.cls if kept else StockRule().cls,
                last=last,
                every_days=rule.every_days,
                count_id=waits.pk if waits else None,
                counted_by=waits.by.code if waits else "",
                counted_at=waits.at if waits else None,
            )
        )
    return sorted(found, key=lambda one: (one.count_id is None, one.cls, one.bin, one.key))


def _day(at: datetime | None) -> date | None:
    return timezone.localtime(at).date() if at else None


def due(today: date) -> int:
    """How many lots are to be counted, second counts among them."""
    return len(to_count(today))


@dataclass(frozen=True, slots=True)
class InTray:
    """Pieces of a lot that lie in a tray not closed yet; they count as on hand till then."""

    serial: str
    code: str
    quantity: int


def in_open_trays(lot_ids: Sequence[int]) -> dict[int, tuple[InTray, ...]]:
    """What lies of each lot in trays that are not closed yet."""
    found: dict[int, list[InTray]] = {one: [] for one in lot_ids}
    rows = (
        TrayLine.objects.filter(lot_id__in=lot_ids, state="taken")
        .exclude(tray__state="closed")
        .annotate(rest=F("quantity") - F("fitted") - F("returned"))
        .filter(rest__gt=0)
        .order_by("tray__serial", "id")
    )
    for lot_id, *tray in rows.values_list("lot_id", "tray__serial", "tray__code", "rest"):
        found[lot_id].append(InTray(*tray))
    return {lot_id: tuple(trays) for lot_id, trays in found.items()}


@dataclass(frozen=True, slots=True)
class BinToCount:
    """A lot as whoever counts it sees it. Blind: what the figures say of it is not here."""

    lot_id: int
    bin: str
    code: str
    piece: str  # "left single", "right single" or nothing
    article: Article
    trays: tuple[InTray, ...]
    count_id: int | None
    counted_by: str
    after: int  # its last count, 0 where there was none


def bin_to_count(lot_id: int) -> BinToCount | None:
    """The lot to be counted, in four statements."""
    lots = Lot.objects.select_related("bin").annotate(last=Max("counts"))
    lot = lots.filter(pk=lot_id).first()
    if lot is None:
        return None
    waits = lot.counts.filter(ended="").select_related("by").first()
    return BinToCount(
        lot_id=lot.pk,
        bin=lot.bin.code,
        code=lot.code,
        piece=lot.get_piece_display() if lot.piece else "",
        article=book.articles([lot.item_id])[lot.item_id],
        trays=in_open_trays([lot.pk])[lot.pk],
        count_id=waits.pk if waits else None,
        counted_by=waits.by.code if waits else "",
        after=lot.last or 0,
    )


@dataclass(frozen=True, slots=True)
class CountDone:
    """A count that has ended, with its figures."""

    at: datetime
    bin: str
    key: str
    code: str
    by: str
    second: int | None
    second_by: str
    ended: str
    why: str
    judged: CountJudged


def counts_done(since: datetime | None = None) -> list[CountDone]:
    """The counts that have ended, the newest first, in one statement; the tolerance is that of
    now. One that waits for its second number is not told."""
    rows = LotCount.objects.exclude(ended="").order_by("-id").select_related(
        "lot__bin", "lot__item__stock_rule", "by", "second_by"
    )  # fmt: skip
    if since is not None:
        rows = rows.filter(at__gte=since)
    return [
        CountDone(
            at=row.at,
            bin=row.lot.bin.code,
            key=row.lot.item.key,
            code=row.lot.code,
            by=row.by.code,
            second=row.second,
            second_by=row.second_by.code if row.second_by else "",
            ended=row.ended,
            why=row.why,
            judged=_as_judged(row),
        )
        for row in rows[:SHOWN]
    ]


def accuracy(since: datetime) -> Accuracy:
    """Lines within their tolerance of all that were counted since, in one statement. One that
    waits for its second number is beyond; one that two people ended apart is no line."""
    rows = (
        LotCount.objects.filter(at__gte=since)
        .exclude(ended="apart")
        .select_related("lot__item__stock_rule")
    )
    judged = [_as_judged(row) for row in rows]
    return Accuracy(sum(one.within for one in judged), len(judged))


def _as_judged(row: LotCount) -> CountJudged:
    item = row.lot.item
    rule = count_rule(item.family, getattr(item, "stock_rule", None))
    return counting.judge(row.expected, row.counted, rule.tolerance_pct)
