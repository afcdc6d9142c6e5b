"""Where a lot went is looked up by indexes, as the database itself explains it."""

from __future__ import annotations

import pytest

from shop.stock import ledger, shelf
from tests.floor.morning import NOW
from tests.floor.test_indexes import asked, plan
from tests.stock.corner import Corner

pytestmark = pytest.mark.django_db

# By the lot, or by what leaves fewer rows still: the kinds that lead from one lot into another,
# the trays of the instruments that parts came off.
TABLES = {
    "stock_movement": ("lot_id", "kind"),
    "stock_trayline": ("lot_id", "tray_id", "reserved_lot_id"),
}


def of_lot(corner: Corner) -> list[str]:
    """The statements that say where a lot with kin went."""
    tray = corner.close(corner.put_in(corner.ask(T03=1), T03="T03"))
    lot = corner.lot("T03").pk
    ledger.quarantine(corner.items["T03"], 1, f"off {tray.serial}", "Scrapped", corner.clerk, NOW)
    return asked(lambda: shelf.used(lot))


@pytest.mark.parametrize("table", TABLES)
def test_where_a_lot_went_is_searched_by_an_index(corner: Corner, table: str) -> None:
    statements = [sql for sql in of_lot(corner) if f'FROM "{table}"' in sql]
    assert statements
    for sql in statements:
        ways = [(index, condition) for reached, index, condition in plan(sql) if reached == table]
        assert ways
        for index, condition in ways:
            assert index
            assert any(column in condition for column in TABLES[table]), ways


@pytest.mark.parametrize("table", TABLES)
def test_neither_movements_nor_lines_are_read_through_for_it(corner: Corner, table: str) -> None:
    for sql in of_lot(corner):
        if f'FROM "{table}"' in sql:
            ways = [index for reached, index, _ in plan(sql) if reached == table]
            assert all(ways), (ways, sql)
