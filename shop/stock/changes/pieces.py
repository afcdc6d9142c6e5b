"""Parts that come back, sets broken and made, draws for repair, and what was found.

What is unused and sealed goes back into its bin. What was opened, came off an instrument or
was found is set apart: a lot of its own, held until somebody has looked at it. A single
machine is kept by hand and lot and never counts as a set.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Literal

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from shop.catalogue import book
from shop.craft.apart import FOUND, OFF, is_apart, off
from shop.craft.hardware import Article, TunerSet
from shop.craft.singles import Laid, lacks
from shop.craft.words import listed, several
from shop.stock.answers.lots import held_words
from shop.stock.changes.balance import MOVED, OutOfStep, held_lot, held_lots, move, reason
from shop.stock.changes.lots import code_of, quarantine
from shop.stock.models import Lot, LotHold, Movement, Tray, TrayLine

Piece = Literal["", "L", "R"]
HANDS: Final = {"L": "left ", "R": "right "}


# --- back out of a tray ---


@dataclass(frozen=True, slots=True)
class Back:
    """What came back: so many of an item and lot, of which ``off`` were on the instrument.
    ``lot_id`` is where it lies now."""

    key: str
    lot: str
    quantity: int
    off: int
    lot_id: int


def return_sealed(line_id: int, quantity: int, by: int, at: datetime, why: str) -> Back:
    """Unused and sealed, out of a closed tray: back in its bin the same day.

    Raises ``OutOfStep`` where so many do not lie in the tray, unfitted.
    """
    with transaction.atomic():
        line, lot, told = _to_return(line_id, quantity, why)
        rest = line.quantity - line.fitted - line.returned
        if quantity > rest:
            raise OutOfStep(
                f"{_key(line)}: {quantity} named, {rest} lie unfitted in the tray. "
                "What was fitted comes back as opened."
            )
        move(
            lot, "returned", on_hand=quantity, out=-quantity, at=at,
            tray=line.tray, line=line, by=by, why=told,
        )  # fmt: skip
        _returned(line, quantity, 0)
    return Back(_key(line), lot.code, quantity, 0, lot.pk)


def return_opened(line_id: int, quantity: int, by: int, at: datetime, why: str) -> Back:
    """Opened, or off the instrument: set apart in a lot of its own until it was looked at.

    What still lies in the tray comes first, then what was fitted.
    Raises ``OutOfStep`` where so many are neither in the tray nor fitted.
    """
    with transaction.atomic():
        line, lot, told = _to_return(line_id, quantity, why)
        rest = line.quantity - line.fitted - line.returned
        if quantity > rest + line.fitted:
            raise OutOfStep(
                f"{_key(line)}: {quantity} named, {rest + line.fitted} are in the tray or fitted. "
                "Count again."
            )
        unused = min(quantity, rest)
        if unused:
            move(lot, "returned", out=-unused, at=at, tray=line.tray, line=line, by=by, why=told)
        serial = line.tray.serial
        apart = quarantine(
            lot.item_id, quantity, f"{OFF}{serial}", f"Off {serial}: {told}", by, at,
            serial=serial, plating=lot.plating or lot.code, line=line,
        )  # fmt: skip
        _returned(line, quantity, quantity - unused)
    return Back(_key(line), lot.code, quantity, quantity - unused, apart)


def _to_return(line_id: int, quantity: int, why: str) -> tuple[TrayLine, Lot, str]:
    """The line something comes back from, its lot and the reason, kept from other writers."""
    tray_id = TrayLine.objects.filter(pk=line_id).values_list("tray_id", flat=True).first()
    if tray_id is None:
        raise OutOfStep("This line is not here any more. Open the tray again.")
    tray = Tray.objects.select_for_update(no_key=True).get(pk=tray_id)
    line = TrayLine.objects.select_related("item", "tray", "put_in").get(pk=line_id)
    told = reason(why, "it comes back")[:MOVED]
    if tray.state != "closed":
        raise OutOfStep(
            f"The tray of {tray.serial} is open: nothing of it left its bin. Change its line there."
        )
    if line.state != "taken" or line.lot_id is None:
        raise OutOfStep(f"{line.item.key} is short in the tray of {tray.serial}: none can return.")
    if quantity < 1:
        raise OutOfStep(f"{quantity} come back: that is none. Count again.")
    return line, held_lot(line.lot_id), told


def _returned(line: TrayLine, quantity: int, off: int) -> None:
    """So many came back, ``off`` of them fitted before. They are missing from the kit now: a
    line of their own says so, short, and the tray is to be checked again."""
    line.returned += quantity
    line.fitted -= off
    line.save(update_fields=["returned", "fitted"])
    parts = TrayLine.objects.filter(tray=line.tray_id, item=line.item_id)
    last = parts.order_by("-part").values_list("part", flat=True).first() or 1
    TrayLine.objects.create(
        tray=line.tray, item=line.item, part=last + 1, quantity=quantity,
        used_at=line.used_at, state="short",
    )  # fmt: skip
    Tray.objects.filter(pk=line.tray_id).update(version=F("version") + 1)


def _key(line: TrayLine) -> str:
    """The item that lay in the tray: it need not be the one that was wanted."""
    return line.put_in.key if line.put_in else line.item.key


# --- what was set apart is looked at ---


@dataclass(frozen=True, slots=True)
class Whole:
    """So many are as good as new and belong to this lot. ``laid``: how a set was found."""

    quantity: int
    lot_code: str
    laid: Laid | None = None  # None: of what is no set


@dataclass(frozen=True, slots=True)
class Singles:
    """So many sets are no sets any more: this many left and right machines of them are good,
    and belong to this lot. The rest of them is thrown away."""

    quantity: int
    left: int
    right: int
    lot_code: str


@dataclass(frozen=True, slots=True)
class Thrown:
    """So many are good for nothing, and why."""

    quantity: int
    why: str


def look(
    lot_id: int,
    found: Whole | Singles | Thrown,
    by: int,
    at: datetime,
    known: int | None = None,
) -> tuple[int, ...]:
    """Somebody looked at what was set apart. Returns the lots it lies in now; none where it
    was thrown away. ``known``: how many lay in it when the asker looked.

    Raises ``OutOfStep``, and changes nothing, where the lot is not set apart, fewer lie in it,
    or what is called a set is none.
    """
    with transaction.atomic():
        lot = held_lot(lot_id)
        article = _article(lot)
        if not (lot.held and is_apart(lot.code)):
            raise OutOfStep(f"Lot {lot.code} is not set apart. There is nothing to look at.")
        _as_known(lot.on_hand, known, lot.code)
        if not 1 <= found.quantity <= lot.on_hand:
            raise OutOfStep(
                f"{found.quantity} named, {lot.on_hand} of {article.key} are set apart as "
                f"{lot.code}. Count again."
            )
        if found.quantity > _free(lot):
            raise OutOfStep(
                f"{lot.reserved} of lot {lot.code} are kept for trays. Look at {_free(lot)}, or "
                "let those go first."
            )
        serial = off(lot.code)
        into: tuple[int, ...] = ()
        if isinstance(found, Whole):
            into = _whole(lot, article, found, by, at, serial)
        elif isinstance(found, Singles):
            into = _singles(lot, article, found, by, at, serial)
        else:
            told = reason(found.why, "it is thrown away")
            move(
                lot, "adjusted", on_hand=-found.quantity, at=at, serial=serial, by=by,
                why=f"Thrown away: {told}",
            )  # fmt: skip
        if not lot.on_hand:
            LotHold.objects.create(lot=lot, held=False, why="All of it looked at", by_id=by, at=at)
            lot.held = ""
            lot.save(update_fields=["held"])
    return into


def _whole(
    lot: Lot, article: Article, found: Whole, by: int, at: datetime, serial: str
) -> tuple[int]:
    is_set = isinstance(article, TunerSet) and not lot.piece
    if is_set and (missing := lacks(_set(article, ""), found.laid or Laid())):
        raise OutOfStep(
            f"{article.key} is no set without {listed(missing)}. Keep what is good as singles."
        )
    into = _lot(lot, _named(found.lot_code), lot.piece, at)
    words = f"Looked at: whole, out of {lot.code}"
    move(lot, "moved", on_hand=-found.quantity, at=at, serial=serial, by=by, why=words)
    move(into, "moved", on_hand=found.quantity, at=at, serial=serial, by=by, why=words)
    return (into.pk,)


def _singles(
    lot: Lot, article: Article, found: Singles, by: int, at: datetime, serial: str
) -> tuple[int, ...]:
    machines = _set(article, lot.piece)
    for count, most, side in (
        (found.left, machines.left, "left"),
        (found.right, machines.right, "right"),
    ):
        if not 0 <= count <= most * found.quantity:
            raise OutOfStep(
                f"{several(found.quantity, 'set')} of {article.key} held "
                f"{most * found.quantity} {side}, not {count}. Count again, seen from the front."
            )
    if not found.left + found.right:
        raise OutOfStep("No machine of it is good. Throw it away, and say why.")
    words = f"Looked at: singles, out of {lot.code}"
    move(lot, "broken", on_hand=-found.quantity, at=at, serial=serial, by=by, why=words)
    hands = {"L": found.left, "R": found.right}
    return _add_singles(lot, _named(found.lot_code), hands, by, at, serial, words)


# --- sets and singles ---


def break_set(
    lot_id: int, by: int, at: datetime, why: str, serial: str = "", known: int | None = None
) -> tuple[int, ...]:
    """Break one set into singles: one set fewer, and its machines by hand and lot. Returns the
    lots of the singles. ``known``: how many sets the asker saw there.

    Raises ``OutOfStep`` where it is no set, the lot is held, or all of it is kept for trays.
    """
    with transaction.atomic():
        lot = held_lot(lot_id)
        machines = _set(_article(lot), lot.piece)
        _as_known(lot.on_hand, known, lot.code)
        told = reason(why, "a set is broken")
        _covers(lot, machines, 1)
        move(lot, "broken", on_hand=-1, at=at, serial=serial, by=by, why=told)
        hands = {"L": machines.left, "R": machines.right}
        return _add_singles(lot, lot.code, hands, by, at, serial, told)


def make_set(
    item_id: int,
    lot_code: str,
    screws_ok: bool,
    bushings_ok: bool,
    by: int,
    at: datetime,
    strings_ok: bool = False,
    known: int | None = None,
) -> int:
    """Make one set out of the singles of one lot. Returns the lot it lies in. ``known``: how
    many singles the asker saw there.

    Raises ``OutOfStep`` that says what is missing: machines, one for each string of a marked
    set, screws and a spare, bushings.
    """
    with transaction.atomic():
        rows = Lot.objects.filter(item_id=item_id, code__iexact=lot_code, held="")
        singles = rows.exclude(piece="").values_list("pk", flat=True)
        lots = list(held_lots(list(singles)).values())
        if not lots:
            raise OutOfStep(f"No singles of lot {lot_code} are here. Choose another lot.")
        _as_known(sum(one.on_hand for one in lots), known, lot_code)
        machines = _set(_article(lots[0]), "")
        wanted = {"L": machines.left, "R": machines.right}
        free = {hand: sum(_free(one) for one in lots if one.piece == hand) for hand in wanted}
        short = [
            several(count - free[hand], f"{HANDS[hand]}machine")
            for hand, count in wanted.items()
            if free[hand] < count
        ]
        laid = Laid(True, screws_ok, bushings_ok, True, strings_ok)
        if missing := [*short, *lacks(machines, laid)]:
            raise OutOfStep(f"No set of {machines.key}, lot {lot_code}. Lacks {listed(missing)}.")
        into = _lot(lots[0], lot_code, "", at)
        for hand, count in wanted.items():
            _take(lots, hand, count, by, at)
        move(into, "made", on_hand=1, at=at, by=by, why="A set of singles")
    return into.pk


def _take(lots: Sequence[Lot], hand: str, count: int, by: int, at: datetime) -> None:
    for lot in lots:
        if lot.piece == hand and (some := min(count, _free(lot))):
            move(lot, "made", on_hand=-some, at=at, by=by, why="Into a set")
            count -= some


def draw(lot_id: int, quantity: int, serial: str, by: int, at: datetime, why: str) -> None:
    """So many go to the repair of this instrument: singles, whole sets, or what is ordered no
    more. Raises ``OutOfStep`` where the lot is held, or fewer are free."""
    with transaction.atomic():
        lot = held_lot(lot_id)
        told = reason(why, "it is drawn")
        if not serial:
            raise OutOfStep("Say for which instrument it is drawn.")
        _covers(lot, _article(lot), quantity)
        move(lot, "drawn", on_hand=-quantity, at=at, serial=serial, by=by, why=told)


def found(
    item_id: int | None,
    quantity: int,
    where: str,
    by: int,
    at: datetime,
    piece: Piece = "",
    after: int | None = None,
) -> int:
    """A part was found on the floor: it is set apart, never put into its bin. ``piece``: a
    single machine of this hand. Returns the lot it is kept as. ``after``: the last movement
    the asker knew of; the same find by the same person since then is the same tap come twice.

    Raises ``OutOfStep`` where nobody says what it is or where it lay.
    """
    if item_id is None:
        raise OutOfStep(
            "Nobody knows this part yet. Bag it with the place and the day, put it in the box "
            "for found parts and ask the lead what it is."
        )
    if quantity < 1:
        raise OutOfStep(f"{quantity} found: that is none. Count again.")
    place = " ".join(where.split())
    if not place:
        raise OutOfStep("Say where it lay.")
    code = f"{FOUND}{timezone.localdate(at).isoformat()}"
    why = f"Found: {place}"
    with transaction.atomic():
        same = Movement.objects.filter(
            lot__item_id=item_id, lot__code=code, lot__piece=piece, on_hand=quantity, by_id=by,
            why=why[:MOVED],
        )  # fmt: skip
        if after is not None and (twin := same.filter(pk__gt=after).first()):
            return twin.lot_id
        return quarantine(item_id, quantity, code, why, by, at, piece=piece)


# --- what they share ---


def _article(lot: Lot) -> Article:
    return book.articles([lot.item_id])[lot.item_id]


def _set(article: Article, piece: str) -> TunerSet:
    """The article as a set of machines. Raises ``OutOfStep`` where it is none."""
    if piece or not isinstance(article, TunerSet):
        kept = " single" if piece else ""
        raise OutOfStep(f"{article.key}{kept} is no set of machines: it stays as it is.")
    return article


def _as_known(there: int, known: int | None, code: str) -> None:
    """Raises ``OutOfStep`` where another, or the same tap come twice, was there since."""
    if known is not None and known != there:
        raise OutOfStep(f"Lot {code} holds {there} now, no longer {known}. Look again first.")


def _free(lot: Lot) -> int:
    return lot.on_hand - lot.reserved


def _covers(lot: Lot, article: Article, quantity: int) -> None:
    """Raises ``OutOfStep`` where so many cannot leave the lot."""
    if quantity < 1:
        raise OutOfStep(f"{quantity} of {article.key}: that is none. Count again.")
    if lot.held:
        raise OutOfStep(f"{held_words(lot.code, lot.held)} Take another lot.")
    if quantity > _free(lot):
        raise OutOfStep(
            f"Lot {lot.code} of {article.key}: {lot.on_hand} on hand, {lot.reserved} kept for "
            f"trays, {quantity} wanted. Take another lot, or ask the lead."
        )


def _named(code: str) -> str:
    """The code of a lot as it was told. Raises ``OutOfStep`` where it cannot be one."""
    told = code_of(code)
    if not told:
        raise OutOfStep("Say which lot it is of: its colour has to match.")
    return told


def _lot(like: Lot, code: str, piece: str, at: datetime) -> Lot:
    """The lot with this code that pieces of the same item join, beside those that lie there
    already. Raises ``OutOfStep`` where it is held."""
    same = Lot.objects.filter(item_id=like.item_id, code__iexact=code)
    own = same.filter(piece=piece).order_by("-on_hand", "id").first()
    if own is None:
        beside = same.order_by("piece", "id").first()
        own = Lot.objects.create(
            item_id=like.item_id,
            bin_id=(beside or like).bin_id,
            code=beside.code if beside else code,
            piece=piece,
            plating=beside.plating if beside else "",
            received_on=beside.received_on if beside else timezone.localdate(at),
            best_before=beside.best_before if beside else like.best_before,
        )
    lot = held_lot(own.pk)
    if lot.held:
        raise OutOfStep(f"{held_words(lot.code, lot.held)} Nothing joins it until it is free.")
    return lot


def _add_singles(
    like: Lot, code: str, counts: Mapping[str, int], by: int, at: datetime, serial: str, why: str
) -> tuple[int, ...]:
    into = []
    for piece, count in counts.items():
        if count:
            lot = _lot(like, code, piece, at)
            move(lot, "broken", on_hand=count, at=at, serial=serial, by=by, why=why)
            into.append(lot.pk)
    return tuple(into)
