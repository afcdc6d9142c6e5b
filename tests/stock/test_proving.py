"""The ledger is proved: by its movements, and by what the trays keep and hold."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.models import QuerySet
from django.test.utils import CaptureQueriesContext

from shop.stock import guard, ledger, shelf
from shop.stock.answers import proving
from shop.stock.models import Lot, Movement, Tray, TrayLine
from tests.floor.morning import NOW
from tests.stock.corner import Corner, tampering

pytestmark = pytest.mark.django_db

T03 = "T03 31-02A in A-03"


def nobody(words: str) -> None:
    """Hears what is wrong and does nothing about it."""


def faults() -> list[str]:
    said: list[str] = []
    told = shelf.prove(said.append)
    assert told.wrong == len(said)
    return said


def picked(corner: Corner) -> Tray:
    return corner.put_in(corner.ask(T03=2), T03="T03")


def closed(corner: Corner) -> Tray:
    return corner.close(picked(corner))


# --- what is as it should be ---


def test_the_ledger_of_the_demo_balances(corner: Corner) -> None:
    assert faults() == []
    told = shelf.prove(nobody)
    assert told.lots == Lot.objects.count()
    assert told.movements == Movement.objects.count()
    kept = TrayLine.objects.filter(reserved__gt=0).count()
    held = TrayLine.objects.filter(tray__state="closed", state="taken", fitted=0).count()
    assert told.lines == kept + held > 0


def test_a_tray_balances_at_every_stage_of_its_life(corner: Corner) -> None:
    tray = corner.ask(T03=2, P04=1)
    assert faults() == []
    corner.put_in(tray, T03="T03", P04=None)
    assert faults() == []
    corner.close(tray)
    assert faults() == []
    ledger.open_tray(tray.pk, corner.clerk, NOW)
    assert faults() == []
    corner.close(tray)
    ledger.consume(tray.pk, None, corner.clerk, NOW)
    assert faults() == []
    assert shelf.unbalanced() == []


def test_pieces_promised_to_orders_are_told_beside_what_trays_keep(corner: Corner) -> None:
    before = shelf.prove(nobody).promised
    ledger.promise(corner.lot("P04").pk, 3, NOW, "orders to come")
    assert shelf.prove(nobody).promised == before + 3
    assert faults() == []


@pytest.mark.parametrize("more", [5, 40])
def test_it_takes_five_statements_for_any_number_of_lots_and_movements(
    corner: Corner, more: int
) -> None:
    for number in range(more):
        corner.receive("T03", 2, NOW.date(), f"lot {number}")
        corner.ask(T03=1)
    with CaptureQueriesContext(connection) as asked:
        shelf.prove(nobody)
    assert len([one for one in asked if one["sql"].startswith(("SELECT", "DECLARE"))]) == 5


def test_it_says_how_far_it_is(corner: Corner, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(proving, "PAGE", 100)
    pages: list[int] = []
    movements = shelf.prove(nobody, pages.append).movements
    assert pages == list(range(100, movements + 1, 100)) != []


# --- what is not ---

Made = Tray | None
Harm = Callable[[Corner, Made], object]


def counted(on_hand: int, reserved: int, out: int) -> str:
    return f"{on_hand} on hand, {reserved} reserved, {out} out"


def own(corner: Corner, kind: str) -> int:
    return Movement.objects.filter(lot=corner.lot("T03"), kind=kind).latest("pk").pk


def lines(tray: Made) -> QuerySet[TrayLine]:
    return TrayLine.objects.filter(tray=tray)


def nothing(corner: Corner) -> Made:
    return None


def asked(corner: Corner) -> Tray:
    return corner.ask(T03=2)


# What was so, how it was tampered with, and what is said of it.
HARM: dict[str, tuple[Callable[[Corner], Made], Harm, list[str]]] = {
    "a count set by hand": (
        nothing,
        lambda corner, _: Lot.objects.filter(pk=corner.lot("T03").pk).update(on_hand=5),
        [f"{T03}: {counted(5, 0, 0)}; the movements come to {counted(6, 0, 0)}."],
    ),
    "a movement altered": (
        nothing,
        lambda corner, _: Movement.objects.filter(pk=own(corner, "received")).update(on_hand=7),
        [
            (
                f"{T03}: movement {{received}} leaves {counted(6, 0, 0)}; "
                f"after the one before it, it is {counted(7, 0, 0)}."
            ),
            f"{T03}: {counted(6, 0, 0)}; the movements come to {counted(7, 0, 0)}.",
        ],
    ),
    "a movement taken out": (
        closed,
        lambda corner, _: Movement.objects.filter(pk=own(corner, "deducted")).delete(),
        [
            f"{T03}: {counted(4, 0, 2)}; the movements come to {counted(6, 0, 0)}.",
            f"{T03}: the tray of {{serial}} holds 2 not fitted; by the movements 0 are out in it.",
        ],
    ),
    "a tray that keeps what nobody reserved": (
        asked,
        lambda _, tray: lines(tray).update(reserved=1),
        [f"{T03}: the tray of {{serial}} keeps 1; the movements reserved 2 for it."],
    ),
    "kept for nobody": (
        asked,
        lambda _, tray: lines(tray).update(reserved=0),
        [f"{T03}: the tray of {{serial}} keeps 0; the movements reserved 2 for it."],
    ),
    "kept of no lot": (
        asked,
        lambda _, tray: lines(tray).update(reserved_lot=None),
        [
            f"{T03}: the tray of {{serial}} keeps 0; the movements reserved 2 for it.",
            "T03 for {serial}: 2 of no lot kept.",
        ],
    ),
    "fitted by hand": (
        closed,
        lambda _, tray: lines(tray).update(fitted=2),
        [f"{T03}: the tray of {{serial}} holds 0 not fitted; by the movements 2 are out in it."],
    ),
    "a tray closed by hand": (
        picked,
        lambda corner, tray: Tray.objects.filter(pk=tray.pk if tray else 0).update(
            state="closed", closed_at=NOW, closed_by=corner.clerk
        ),
        [
            f"{T03}: the tray of {{serial}} is closed and keeps 2 still.",
            f"{T03}: the tray of {{serial}} holds 2 not fitted; by the movements 0 are out in it.",
        ],
    ),
    "out in no tray": (
        closed,
        lambda _, tray: Movement.objects.filter(tray=tray).update(tray=None),
        [
            f"{T03}: the tray of {{serial}} holds 2 not fitted; by the movements 0 are out in it.",
            f"{T03}: 2 out, and in no tray.",
        ],
    ),
    "given back and never promised": (
        closed,
        lambda corner, tray: Movement.objects.filter(pk=own(corner, "released")).update(tray=None),
        [
            f"{T03}: 2 more given back than was promised.",
            f"{T03}: the tray of {{serial}} keeps 0; the movements reserved 2 for it.",
        ],
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", HARM)
def test_what_was_tampered_with_is_named(corner: Corner, what: str) -> None:
    before, harm, words = HARM[what]
    tray, received = before(corner), own(corner, "received")
    assert faults() == []
    with tampering():
        harm(corner, tray)
        serial = tray.serial if tray else ""
        assert faults() == [one.format(serial=serial, received=received) for one in words]


# --- the command ---


def said_by(*command: str) -> str:
    out = io.StringIO()
    call_command(*command, stdout=out, stderr=out)
    return out.getvalue()


def test_the_command_says_what_it_looked_at(corner: Corner) -> None:
    told = shelf.prove(nobody)
    assert said_by("balance_stock") == (
        f"{told.lots} lots, {told.movements} movements, {told.lines} lines of trays that keep or "
        f"hold pieces, {told.promised} pieces promised to orders: the ledger balances.\n"
    )


def test_the_command_fails_where_anything_is_wrong_and_names_it(corner: Corner) -> None:
    with tampering():
        Lot.objects.filter(pk=corner.lot("T03").pk).update(on_hand=5)
        out = io.StringIO()
        with pytest.raises(CommandError, match=r"1 thing found\. Count the bins") as failed:
            call_command("balance_stock", stdout=out)
    assert failed.value.returncode == 1
    assert out.getvalue().startswith(f"{T03}: 5 on hand")


def test_the_command_fails_where_nothing_guards_the_ledger(corner: Corner) -> None:
    with tampering(), pytest.raises(CommandError, match="does not guard the ledger"):
        call_command("balance_stock", stdout=io.StringIO())
    assert guard.is_up()
