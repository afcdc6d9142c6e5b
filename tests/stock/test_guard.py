"""The database itself keeps the ledger: no tool of it moves a count or rewrites a movement."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from shop.stock import guard, ledger, shelf
from shop.stock.models import Bin, Lot, Movement
from tests.floor.morning import NOW, undone
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

MOVED = ("on_hand", "reserved", "out")


def ledger_rows() -> list[Any]:
    """Every movement and every count, as the database holds them."""
    lots = list(Lot.objects.order_by("pk").values("id", *MOVED))
    return [list(Movement.objects.order_by("pk").values()), lots]


def tried(statement: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def refused(statement: str, words: str) -> None:
    """The database refuses it in these words, and nothing has changed."""
    connection.check_constraints()  # else PostgreSQL stops at what it has not checked yet
    before = ledger_rows()
    with pytest.raises(DatabaseError, match=words):
        tried(statement)
    assert ledger_rows() == before


def movement_of(lot: int, **said: int) -> str:
    """The statement that adds a movement with these numbers, and 0 for those not named."""
    columns = [*MOVED, *(f"{one}_after" for one in MOVED), *(["id"] if "id" in said else [])]
    numbers = ", ".join(str(said.get(one, 0)) for one in columns)
    return (
        f"INSERT INTO stock_movement (lot_id, kind, {', '.join(columns)}, serial, why, at) "
        f"VALUES ({lot}, 'adjusted', {numbers}, '', '', '2031-03-03 09:30:00+00:00')"
    )


FIRST = "(SELECT MIN(id) FROM stock_movement)"
REWRITES = {
    "one movement altered": f"UPDATE stock_movement SET why = 'Never said' WHERE id = {FIRST}",
    "one altered to what it is": f"UPDATE stock_movement SET why = why WHERE id = {FIRST}",
    "every movement altered": "UPDATE stock_movement SET on_hand = 0",
    "one taken out": f"DELETE FROM stock_movement WHERE id = {FIRST}",
    "every movement taken out": "DELETE FROM stock_movement",
}
if connection.vendor == "postgresql":  # SQLite knows no other way to take out a whole table
    REWRITES["taken out as a whole"] = "TRUNCATE stock_movement CASCADE"
    REWRITES["taken out with their lots"] = "TRUNCATE stock_lot CASCADE"


@pytest.mark.parametrize("what", REWRITES)
def test_the_database_refuses_to_rewrite_a_movement(corner: Corner, what: str) -> None:
    """The guard was put up by the migrations alone."""
    refused(REWRITES[what], guard.KEPT)


# One that follows, as if it were to be added: on the place of a movement that is there.
COLLIDES = {
    "sqlite": [
        "REPLACE INTO {0}",
        "INSERT OR REPLACE INTO {0}",
        "INSERT INTO {0} ON CONFLICT (id) DO UPDATE SET why = 'Never said'",
    ],
    "postgresql": ["INSERT INTO {0} ON CONFLICT (id) DO UPDATE SET why = 'Never said'"],
}[connection.vendor]


@pytest.mark.parametrize("way", COLLIDES)
def test_a_movement_put_in_the_place_of_another_is_refused(corner: Corner, way: str) -> None:
    lot = corner.lot("T03")
    place = lot.movements.values_list("id", flat=True)[0]
    row = movement_of(lot.pk, id=place, on_hand=1, on_hand_after=7).removeprefix("INSERT INTO ")
    refused(way.format(row), guard.KEPT)


def by_hand(lot: Lot, what: str) -> str:
    return f"UPDATE stock_lot SET {what} WHERE id = {lot.pk}"


@pytest.mark.parametrize(
    "what", ["on_hand = 5", "on_hand = on_hand + 1", "reserved = 1", "out = 1", "on_hand = 0"]
)
def test_a_count_set_by_hand_is_refused(corner: Corner, what: str) -> None:
    refused(by_hand(corner.lot("T03"), what), guard.ASIDE)


def test_counts_of_many_lots_set_by_hand_are_refused_for_all_of_them(corner: Corner) -> None:
    refused("UPDATE stock_lot SET on_hand = on_hand + 1", guard.ASIDE)


def test_a_count_set_to_what_an_earlier_movement_left_is_refused(corner: Corner) -> None:
    """The newest movement alone says what a count is."""
    lot = corner.lot("T03")
    corner.close(corner.put_in(corner.ask(T03=2), T03="T03"))
    assert Movement.objects.filter(lot=lot, on_hand_after=6).exists()
    refused(by_hand(lot, "on_hand = 6"), guard.ASIDE)


def test_what_is_no_count_of_a_lot_can_be_written(corner: Corner) -> None:
    lot = corner.lot("T03")
    tried(by_hand(lot, "held = 'Looked at', on_hand = on_hand"))
    lot.refresh_from_db()
    assert (lot.held, lot.on_hand) == ("Looked at", 6)


@pytest.mark.parametrize("count", MOVED)
def test_a_lot_is_not_born_with_counts(corner: Corner, count: str) -> None:
    row: dict[str, Any] = {"code": "new", "received_on": NOW.date(), "on_hand": 1, count: 1}
    before = Lot.objects.count()
    with pytest.raises(DatabaseError, match=guard.ASIDE), transaction.atomic():
        Lot.objects.create(item_id=corner.items["T03"], bin=Bin.objects.all()[0], **row)
    assert Lot.objects.count() == before


# T03 lies there with 6 on hand, none reserved, none out.
ASTRAY = {
    "more after it than there can be": {"on_hand": 1, "on_hand_after": 8},
    "less after it than there is": {"on_hand": 1, "on_hand_after": 6},
    "one count follows and another does not": {
        "on_hand": -1, "on_hand_after": 5, "out": 1, "out_after": 2,
    },
    "as if nothing were there": {"on_hand": 3, "on_hand_after": 3},
    "the reserved does not follow": {"on_hand": 1, "on_hand_after": 7, "reserved_after": 1},
}  # fmt: skip


@pytest.mark.parametrize("what", ASTRAY)
def test_a_movement_that_does_not_follow_is_refused(corner: Corner, what: str) -> None:
    refused(movement_of(corner.lot("T03").pk, **ASTRAY[what]), guard.ASTRAY)


def test_a_movement_of_no_lot_is_refused(corner: Corner) -> None:
    refused(movement_of(987_654, on_hand=1, on_hand_after=1), guard.ASTRAY)


def test_a_movement_that_follows_moves_the_counts_by_itself(corner: Corner) -> None:
    """Whoever writes it: the counts are the sums still."""
    lot = corner.lot("T03")
    tried(movement_of(lot.pk, on_hand=-2, on_hand_after=4, reserved=1, reserved_after=1))
    lot.refresh_from_db()
    assert (lot.on_hand, lot.reserved, lot.out) == (4, 1, 0)
    assert shelf.unbalanced() == []


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("below nothing", {"on_hand": -7, "on_hand_after": -1}),
        ("more reserved than there is", {"reserved": 7, "reserved_after": 7}),
        ("nothing moved", {"on_hand_after": 6}),
    ],
)
def test_a_movement_that_leaves_counts_that_cannot_be_is_refused(
    corner: Corner, what: str, said: dict[str, int]
) -> None:
    refused(
        movement_of(corner.lot("T03").pk, **{"on_hand_after": 6} | said), "(?i)check|constraint"
    )


@pytest.mark.parametrize("way", ["save", "update", "bulk update"])
def test_no_way_through_the_models_moves_a_count(corner: Corner, way: str) -> None:
    lot = corner.lot("T03")
    lot.on_hand = 9
    ways: dict[str, Callable[[], object]] = {
        "save": lambda: lot.save(),
        "update": lambda: Lot.objects.filter(pk=lot.pk).update(on_hand=9),
        "bulk update": lambda: Lot.objects.bulk_update([lot], ["on_hand"]),
    }
    with pytest.raises(DatabaseError, match=guard.ASIDE), transaction.atomic():
        ways[way]()
    assert corner.counts("T03") == (6, 0)


@pytest.fixture
def watched(corner: Corner) -> Iterator[Corner]:
    with undone():
        yield corner


def test_a_guard_put_up_twice_is_as_good_as_once(watched: Corner) -> None:
    guard.put_up()
    guard.put_up()
    refused(REWRITES["one movement altered"], guard.KEPT)
    watched.receive("T03", 2, NOW.date(), "31-02A", "A-03")  # each movement moves counts once
    assert watched.counts("T03") == (8, 0)


def test_a_guard_taken_down_and_put_up_again_guards_again(watched: Corner) -> None:
    guard.take_down()
    tried(by_hand(watched.lot("T03"), "on_hand = 5"))
    guard.put_up()
    refused(by_hand(watched.lot("T03"), "on_hand = 6 + 1"), guard.ASIDE)


def test_what_was_tampered_with_is_not_moved_on_from(watched: Corner) -> None:
    """A count that no movement explains cannot be put right by hand, but by a movement."""
    guard.take_down()
    tried(by_hand(watched.lot("T03"), "on_hand = 5"))
    guard.put_up()
    watched.receive("T03", 1, NOW.date(), "31-02A", "A-03")
    assert shelf.unbalanced() == ["T03 31-02A in A-03: counts 6/0/0, movements 7/0/0"]


def test_a_database_without_a_ledger_yet_needs_no_guard(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "MOVES", "not_there_yet")
    monkeypatch.setattr(guard, "run", lambda statements: pytest.fail("nothing to guard"))
    guard.put_up()


def test_a_refused_movement_leaves_the_lot_as_it_was(corner: Corner) -> None:
    """What the ledger cannot do it does not half do: the row and the counts go together."""
    lot = corner.lot("T03").pk
    before = ledger_rows()
    with pytest.raises(DatabaseError), transaction.atomic():
        ledger.promise(lot, 7, NOW, "orders to come")
    assert ledger_rows() == before
