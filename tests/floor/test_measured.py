"""What was measured over many instruments: values in force, in order, and in few statements.
All figures are invented."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.floor import board
from shop.floor import measured as many
from shop.floor.models import Reading, Step
from tests.bench.crowd import add_instruments
from tests.floor.many_readings import looked_at_twice, measured, serial_of
from tests.floor.morning import NOW

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SPEC = "TARN"


@pytest.fixture(autouse=True)
def _crowd(morning: None) -> None:
    add_instruments(6, like="Q-1043")
    Reading.objects.all().delete()


def values(place: str = "bass", operation: str = "I10") -> list[Decimal]:
    run = board.run(SPEC, operation, "action", place)
    return [] if run is None else [one.value for one in run.values]


def test_values_come_in_the_order_they_were_read() -> None:
    measured(["2.41", "2.38", "2.44"])
    assert values() == [Decimal("2.41"), Decimal("2.38"), Decimal("2.44")]


def test_a_corrected_value_stands_once_and_as_corrected() -> None:
    measured(["2.41", "2.38", "2.44"])
    measured(["2.47"], hours=1)
    assert values() == [Decimal("2.38"), Decimal("2.44"), Decimal("2.47")]


def test_only_the_newest_instruments_are_charted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "NEWEST", 2)
    measured(["2.41", "2.38", "2.44"])
    assert values() == [Decimal("2.38"), Decimal("2.44")]


def test_places_and_operations_are_kept_apart() -> None:
    measured(["2.41"], place="bass")
    measured(["1.62"], place="treble")
    measured(["2.55"], operation="U30")
    assert values("bass") == [Decimal("2.41")]
    assert values("treble") == [Decimal("1.62")]
    assert values("bass", "U30") == [Decimal("2.55")]


def test_unless_told_the_first_place_is_meant() -> None:
    measured(["2.41"])
    assert values("") == [Decimal("2.41")]


@pytest.mark.parametrize(
    ("spec", "operation", "quantity", "place"),
    [
        ("NONE", "I10", "action", "bass"),
        (SPEC, "X99", "action", "bass"),
        (SPEC, "I10", "shoe size", "bass"),
        (SPEC, "I10", "worm", "L"),
        (SPEC, "I10", "action", "middle"),
    ],
)
def test_what_was_never_measured_is_not_there(
    spec: str, operation: str, quantity: str, place: str
) -> None:
    measured(["2.41"])
    measured(["1"], quantity="worm", place="L")
    assert board.run(spec, operation, quantity, place) is None


def test_until_the_second_look_is_taken_nobody_learns_whose_value_it_is() -> None:
    measured(["2.41", "2.38", "2.44"])
    looked_at_twice(1)
    run = board.run(SPEC, "I10", "action")
    assert run is not None
    assert [one.serial for one in run.values] == [serial_of(0), "", ""]


def test_a_second_look_that_was_struck_is_still_to_be_taken() -> None:
    measured(["2.41"])
    looked_at_twice(1)
    Step.objects.filter(operation__code="I30").update(void_at=NOW)
    run = board.run(SPEC, "I10", "action")
    assert run is not None
    assert [one.serial for one in run.values] == [""]


def test_what_is_no_first_look_is_told_with_its_serial() -> None:
    measured(["2.41"], operation="U30")
    run = board.run(SPEC, "U30", "action")
    assert run is not None
    assert [one.serial for one in run.values] == [serial_of(0)]


def test_each_characteristic_is_listed_with_its_instruments_and_its_last_reading() -> None:
    measured(["2.41", "2.38"])
    measured(["2.47"], hours=1)
    measured(["1.60"], place="treble")
    measured(["0.18"], quantity="relief", place="7")
    measured(["1"], quantity="worm", place="L")
    found = {(one.spec, one.operation, one.quantity.key): one for one in board.characteristics()}
    assert set(found) == {(SPEC, "I10", "action"), (SPEC, "I10", "relief")}
    action = found[SPEC, "I10", "action"]
    assert action.instruments == 2
    assert action.last == NOW + timedelta(hours=1)


def test_what_moved_is_told_where_both_looks_have_measured() -> None:
    measured(["2.40", "2.41", "2.39"])
    measured(["2.65", "2.45"], operation="I30", hours=96)
    measured(["0.18", "0.20"], quantity="relief", place="7")
    measured(["0.24"], operation="I30", quantity="relief", place="7", hours=96)
    found = [(one.serial, one.quantity.key, one.first, one.second) for one in board.moved()]
    assert found == [
        (serial_of(0), "relief", Decimal("0.18"), Decimal("0.24")),
        (serial_of(0), "action", Decimal("2.40"), Decimal("2.65")),
        (serial_of(1), "action", Decimal("2.41"), Decimal("2.45")),
    ]


def test_what_moved_goes_by_the_value_in_force_at_each_look() -> None:
    measured(["2.40"])
    measured(["2.42"], hours=1)
    measured(["2.65"], operation="I30", hours=96)
    measured(["2.60"], operation="I30", hours=97)
    (one,) = board.moved()
    assert (one.first, one.second) == (Decimal("2.42"), Decimal("2.60"))


def test_after_rework_the_new_first_look_is_not_paired_with_the_old_second() -> None:
    """Both looks struck and I10 measured anew: I30 is still to be taken with fresh eyes."""
    measured(["2.40", "2.41"])
    measured(["2.65", "2.45"], operation="I30", hours=96)
    measured(["2.30"], hours=120)
    assert [one.serial for one in board.moved()] == [serial_of(1)]
    measured(["2.33"], operation="I30", hours=216)
    found = {one.serial: (one.first, one.second) for one in board.moved()}
    assert found[serial_of(0)] == (Decimal("2.30"), Decimal("2.33"))


@pytest.mark.parametrize("ask", ["characteristics", "run", "moved"])
def test_more_instruments_take_no_more_statements(ask: str) -> None:
    def statements() -> int:
        with CaptureQueriesContext(connection) as asked:
            if ask == "run":
                assert board.run(SPEC, "I10", "action") is not None
            else:
                assert getattr(board, ask)()
        return len(asked)

    measured(["2.40"])
    measured(["2.60"], operation="I30", hours=96)
    statements()  # what is kept in memory is read once
    few = statements()
    measured(["2.40"] * 6)
    measured(["2.60"] * 6, operation="I30", hours=96)
    assert statements() == few <= 3
