"""How many statements a scan and a record take, signed in, on a floor of any size.

Each statement is counted, those that begin and end a transaction too. A test runs inside a
transaction of its own, so where the floor sends BEGIN and COMMIT it sends SAVEPOINT and
RELEASE SAVEPOINT: as many, and the counts are the floor's. On PostgreSQL the record takes
one more than on SQLite, the row lock.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import revising
from shop.catalogue.models import Item
from tests.bench.crowd import add_instruments
from tests.bench.screens import key, seen, signed_in, tag
from tests.floor.morning import forget, now, ready_for
from tests.floor.printed import paper

pytestmark = pytest.mark.usefixtures("today")

SCAN_PAGE = 6
RECORD = 14
# After a restart the first scan of a spec reads its revision, woods, changed limits, stops,
# what they measure, kit, substitutes and precedences too, and the stations.
SCAN_PAGE_COLD = 13
# What the ledger needs beside it where a step fits parts, and for each of them.
FITTING, FITTING_EACH = 5, 2
# What goes by batch: a transaction of its own, the items, their lots, what it has of them.
BATCH = 5
CROWD = 200

PLAIN = "Q-1043"
DEVIATING = "Q-1044"


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def statements(ask: Callable[[], Any]) -> list[str]:
    """What the database was asked meanwhile; the answer must be a page or a way to one."""
    with CaptureQueriesContext(connection) as captured:
        assert ask().status_code in {200, 302}
    return [one["sql"] for one in captured]


def told(found: list[str]) -> str:
    return f"{len(found)} statements:\n" + "\n".join(found)


def look(phone: Client, serial: str) -> list[str]:
    code = tag(serial)
    return statements(lambda: phone.get(f"/{code}"))


def record(phone: Client, serial: str, operation: str, **more: str) -> list[str]:
    code, sent = tag(serial), {"key": key(), "operation": operation} | more
    headers = {"HX-Request": "true"}
    answers: list[Any] = []

    def ask() -> Any:
        answers.append(phone.post(f"/{code}/record/", sent, headers=headers))
        return answers[0]

    found = statements(ask)
    assert "Recorded." in seen(answers[0]).words
    return found


@pytest.mark.parametrize("serial", [PLAIN, DEVIATING])
def test_a_scan_page_takes_six_statements_at_most(phone: Client, serial: str) -> None:
    look(phone, serial)
    found = look(phone, serial)
    assert len(found) <= SCAN_PAGE, told(found)


@pytest.mark.parametrize("serial", [PLAIN, DEVIATING])
def test_a_scan_page_behind_a_paper_takes_two_statements_more(phone: Client, serial: str) -> None:
    """The copy that was scanned, and the newest one."""
    look(phone, serial)
    alone = look(phone, serial)
    way = f"/{tag(serial)}?{urlencode({'paper': paper(serial)})}"
    found = statements(lambda: phone.get(way))
    assert len(found) == len(alone) + 2, told(found)


def test_a_scanned_paper_takes_six_statements_at_most_to_its_page(phone: Client) -> None:
    code = paper(PLAIN)
    found = statements(lambda: phone.post("/scan/", {"code": code}))
    assert len(found) <= SCAN_PAGE, told(found)


@pytest.mark.parametrize("serial", [PLAIN, DEVIATING])
def test_a_scan_page_takes_no_more_among_two_hundred_more_instruments(
    phone: Client, serial: str
) -> None:
    look(phone, serial)
    alone = look(phone, serial)
    add_instruments(CROWD)
    assert len(look(phone, serial)) == len(alone)


def test_the_first_scan_page_after_a_restart_reads_the_sheet_once(phone: Client) -> None:
    forget()
    found = look(phone, PLAIN)
    assert SCAN_PAGE < len(found) <= SCAN_PAGE_COLD, told(found)


def test_a_scanned_code_takes_six_statements_at_most_to_its_page(phone: Client) -> None:
    code = tag(PLAIN)
    found = statements(lambda: phone.post("/scan/", {"code": code}))
    assert len(found) <= SCAN_PAGE, told(found)


@pytest.mark.parametrize(("serial", "operation"), [(DEVIATING, "N10"), ("Q-1055", "N30")])
def test_a_record_takes_fourteen_statements_at_most(
    phone: Client, serial: str, operation: str
) -> None:
    ready_for(serial, operation)
    look(phone, serial)
    found = record(phone, serial, operation)
    assert len(found) <= RECORD, told(found)


def test_a_record_behind_a_tray_check_takes_fourteen_statements_at_most(phone: Client) -> None:
    ready_for(PLAIN, "N40")
    look(phone, PLAIN)
    found = record(phone, PLAIN, "N40")
    assert len(found) <= RECORD, told(found)


def test_a_record_that_fits_parts_takes_so_many_more_as_the_ledger_needs() -> None:
    """What is fitted is all or nothing: a transaction inside the record's, the tray, its lines,
    their lots; and for each line its movement and what the line says of it. What comes out of
    a batch is another: the items, their lots, and a movement each."""
    strings = signed_in("P-22", "A")
    ready_for("Q-1041", "A30", "P-22", "A")
    look(strings, "Q-1041")
    kit = [one for one in now("Q-1041").kit if one.used_at == "A30"]
    parts = [one for one in kit if one.in_tray]
    batch = [one for one in kit if not one.in_tray]
    assert parts
    assert batch
    found = record(strings, "Q-1041", "A30")
    assert len([one for one in found if 'INSERT INTO "stock_movement"' in one]) == len(kit)
    most = RECORD + FITTING + FITTING_EACH * len(parts) + BATCH + len(batch)
    assert len(found) <= most, told(found)


def test_a_record_that_makes_a_pair_takes_fourteen_statements_and_a_lock_at_most() -> None:
    """It looks the neck's tag up, writes the pair and retires the tag as well. PostgreSQL
    holds the body's instrument and the one that waits for the neck in a statement of its own.
    """
    joint = signed_in("P-16")
    look(joint, "Q-1061")
    found = record(joint, "Q-1061", "J10", neck=tag("Q-1061", "neck"))
    locks = [one for one in found if "FOR UPDATE" in one]
    assert len(locks) == connection.features.has_select_for_update
    assert len(found) - len(locks) <= RECORD, told(found)


def test_a_record_takes_no_more_among_two_hundred_more_instruments(phone: Client) -> None:
    ready_for(DEVIATING, "N10")
    look(phone, DEVIATING)
    alone = record(phone, DEVIATING, "N10")
    add_instruments(CROWD)
    assert len(record(phone, DEVIATING, "N20")) == len(alone)


def test_a_record_without_script_takes_fourteen_statements_at_most(phone: Client) -> None:
    ready_for(DEVIATING, "N10")
    code, sent = tag(DEVIATING), {"key": key(), "operation": "N10"}
    look(phone, DEVIATING)
    found = statements(lambda: phone.post(f"/{code}/record/", sent))
    assert now(DEVIATING).done_codes == {"N10"}
    assert len(found) <= RECORD, told(found)


# --- the kit sheet is drawn once ---


def of_the_kit(found: list[str]) -> list[str]:
    """Statements that read kits or items."""
    return [one for one in found if "catalogue_kitline" in one or "catalogue_item" in one]


def test_the_kit_is_read_for_the_first_page_of_its_revision_alone(phone: Client) -> None:
    forget()
    assert of_the_kit(look(phone, PLAIN)) != []
    assert of_the_kit(look(phone, PLAIN)) == []


def test_another_instrument_of_the_revision_reads_no_kit_again(phone: Client) -> None:
    forget()
    look(phone, PLAIN)
    assert of_the_kit(look(phone, "Q-1041")) == []


def draws_the_kit(phone: Client, serial: str) -> bool:
    """Whether the page of this instrument had its kit sheet drawn, or took the kept one."""
    drawn = phone.get(f"/{tag(serial)}").templates
    return "bench/_kit.html" in {one.name for one in drawn}


def test_the_kit_is_drawn_for_the_first_page_of_its_revision_alone(phone: Client) -> None:
    assert draws_the_kit(phone, PLAIN)
    assert not draws_the_kit(phone, PLAIN)
    assert not draws_the_kit(phone, "Q-1041")


def test_a_deviating_instrument_has_a_kit_drawn_for_itself(phone: Client) -> None:
    draws_the_kit(phone, PLAIN)
    assert draws_the_kit(phone, DEVIATING)
    assert not draws_the_kit(phone, PLAIN)


def test_the_kept_kit_is_the_one_that_was_drawn(phone: Client) -> None:
    first, again = (seen(phone.get(f"/{tag(PLAIN)}")).of_class("kit-lines") for _ in range(2))
    assert first == again != []


def test_a_changed_item_is_read_and_drawn_again(phone: Client) -> None:
    look(phone, PLAIN)
    revising.item_changed(Item.objects.get(key="N01").pk)
    assert of_the_kit(look(phone, PLAIN)) != []
    revising.item_changed(Item.objects.get(key="N01").pk)
    assert draws_the_kit(phone, PLAIN)


def test_a_changed_item_of_other_kits_leaves_this_one_as_drawn(phone: Client) -> None:
    look(phone, PLAIN)
    revising.item_changed(Item.objects.get(key="T15").pk)
    assert of_the_kit(look(phone, PLAIN)) == []
    assert not draws_the_kit(phone, PLAIN)
