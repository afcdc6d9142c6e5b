"""The floor follows from its journal: made again it is the same, and what no deed did shows."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError

from shop.floor import deeds, door, following
from shop.floor.deeds.deed import Deed
from shop.floor.following import Lost, Unsound
from shop.floor.models import (
    Body,
    Deviation,
    Entry,
    Instrument,
    Loose,
    Neck,
    Pair,
    Reading,
    Step,
    Tag,
)
from tests.floor import busy
from tests.floor.morning import NOW, act, now
from tests.floor.tampering import alter, relink, rows_of, said_by, tampering
from tests.floor.test_walk import Walk

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL = "Q-1043"
LONGEST = 12  # what the journal's column holds of a kind


@pytest.fixture
def unguarded() -> Iterator[None]:
    with tampering():
        yield


def differences() -> list[str]:
    return following.differences()[1]


def made_again_as_it_was() -> None:
    """Nothing differs, and what was made again in earnest is what stood there."""
    assert differences() == []
    before = following.picture()
    following.rebuild()
    assert following.picture() == before


# --- the same comes out ---


def test_the_demo_made_again_is_as_it_was() -> None:
    made_again_as_it_was()


def test_a_busy_hour_made_again_is_as_it_was() -> None:
    told = busy.hour()
    done = {one.result for one in told}
    assert done == {"recorded", "refused"}, "the hour holds deeds done and deeds refused"
    made_again_as_it_was()


def test_an_instrument_that_walked_its_whole_route_is_made_again_as_it_was() -> None:
    walk = Walk(SERIAL)
    while now(SERIAL).next_codes:
        before = walk.recorded
        walk.play(("next", 0, 100.0))
        assert walk.recorded == before + 1, now(SERIAL).next_codes
    assert now(SERIAL).finished_at == walk.at
    made_again_as_it_was()
    assert now(SERIAL).finished_at == walk.at


def test_instruments_keep_their_numbers_and_new_ones_go_on_after_them() -> None:
    before = dict(Instrument.objects.values_list("body__serial", "pk"))
    following.rebuild()
    assert dict(Instrument.objects.values_list("body__serial", "pk")) == before
    today = NOW.date()
    released = door.Released("Q-1067", "K-2103", "FELL", due_on=today, release_on=today)
    assert door.record(act("P-01", "", reason="Short"), released).result == "recorded"
    assert now("Q-1067").id > max(before.values())


def test_work_goes_on_after_the_floor_was_made_again() -> None:
    following.rebuild()
    refused = door.record(act(), door.StepDone(now(SERIAL).id, "N40"))
    assert refused.seq == now(SERIAL).seq == len(rows_of(SERIAL))
    assert differences() == []


def test_what_a_look_at_the_differences_did_is_undone() -> None:
    Step.objects.filter(instrument_id=now(SERIAL).id).update(doubt="Nobody said so")
    before = following.picture()
    steps = set(Step.objects.values_list("pk", flat=True))
    assert differences() != []
    assert following.picture() == before
    assert set(Step.objects.values_list("pk", flat=True)) == steps


# --- what no deed did shows, and is put right ---


def step() -> Any:
    return Step.objects.filter(instrument_id=now(SERIAL).id).order_by("seq")


CHANGES: dict[str, tuple[Callable[[], Any], str]] = {
    "a step's moment": (
        lambda: step().filter(operation__code="N30").update(at=NOW),
        f"Step {SERIAL}, ",
    ),
    "a step taken out": (
        lambda: step().filter(operation__code="N30").delete(),
        "the journal says it, the floor does not have it.",
    ),
    "an instrument put to scrap": (
        lambda: Instrument.objects.filter(body__serial=SERIAL).update(ended="Dropped"),
        f"Instrument {SERIAL}, ended: Dropped on the floor, nothing by the journal.",
    ),
    "a reading": (
        lambda: Reading.objects.filter(pk=Reading.objects.latest("pk").pk).update(value="9.99"),
        "value: 9.9900 on the floor, ",
    ),
    "a finding that stands": (
        lambda: Instrument.objects.filter(body__serial=SERIAL).update(standing={"tray": []}),
        f'Instrument {SERIAL}, standing: {{"tray": []}} on the floor, {{}} by the journal.',
    ),
    "a body of nowhere": (
        lambda: Body.objects.create(
            serial="Q-1", spec_id=Body.objects.all()[0].spec_id, arrived_at=NOW
        ),
        "Body Q-1: the floor has it, the journal does not say it.",
    ),
    "a tag that lives again": (
        lambda: Tag.objects.filter(neck__serial="K-2070").update(void_at=None),
        "on the floor, ",
    ),
    "a pair that is none": (
        lambda: Pair.objects.all()[:1].get().delete(),
        "the journal says it, the floor does not have it.",
    ),
    "a day a body was coated": (
        lambda: Body.objects.filter(serial=SERIAL).update(coated_on="2030-01-01"),
        f"Body {SERIAL}, coated_on: 2030-01-01 on the floor, ",
    ),
    "what the buyer agreed to": (
        lambda: Deviation.objects.filter(words__startswith="Gold strap").update(approved="nobody"),
        "approved: nobody on the floor, buyer, order C-0417 by the journal.",
    ),
}


@pytest.mark.parametrize("what", CHANGES)
def test_what_no_deed_did_is_named_and_put_right(what: str) -> None:
    change, words = CHANGES[what]
    change()
    said = differences()
    assert len(said) == 1
    assert words in said[0]
    following.rebuild()
    assert differences() == []


def test_every_table_of_the_floor_but_the_journals_own_is_made_again() -> None:
    assert {*following.KEYS, Entry, Loose} == set(apps.get_app_config("floor").get_models())


def test_every_deed_is_found_by_what_the_journal_calls_it() -> None:
    found: dict[str, type[Deed]] = {}
    for file in pkgutil.iter_modules(deeds.__path__):
        module = importlib.import_module(f"{deeds.__name__}.{file.name}")
        found |= {
            one.kind: one
            for one in vars(module).values()
            if inspect.isclass(one) and issubclass(one, Deed) and not inspect.isabstract(one)
        }
    assert found == door.DEEDS
    assert [kind for kind in found if len(kind) > LONGEST] == []


# --- when it cannot be done ---


@pytest.mark.usefixtures("unguarded")
def test_nothing_is_made_of_a_journal_that_is_not_as_it_was_written() -> None:
    alter(rows_of(SERIAL)[2], reason="Never said")
    steps = set(Step.objects.values_list("pk", flat=True))
    for way in (following.rebuild, following.differences):
        with pytest.raises(Unsound):
            way()
    assert set(Step.objects.values_list("pk", flat=True)) == steps


@pytest.mark.usefixtures("unguarded")
def test_a_row_of_no_deed_is_named_and_nothing_is_changed() -> None:
    row = rows_of(SERIAL)[2]
    alter(row, kind="wished")
    relink(SERIAL)
    before = following.picture()
    with pytest.raises(Lost, match=rf"^Row {row.pk} \({SERIAL}, row 3, wished\): no deed"):
        following.rebuild()
    assert following.picture() == before


@pytest.mark.usefixtures("unguarded")
def test_a_row_that_does_not_say_enough_is_named_and_nothing_is_changed() -> None:
    row = next(one for one in rows_of(SERIAL) if one.kind == "step")
    alter(row, data={"instrument_id": row.instrument_id})
    relink(SERIAL)
    before = following.picture()
    with pytest.raises(Lost, match=rf"^Row {row.pk} \({SERIAL}, row {row.seq}, step\): KeyError"):
        following.rebuild()
    assert following.picture() == before


# --- the command ---


def test_the_command_makes_the_floor_again_and_says_of_what() -> None:
    Neck.objects.filter(serial="K-2099").update(arrived_at=NOW + timedelta(days=1))
    count = f"{Entry.objects.count()} rows, {Instrument.objects.count()} instruments"
    assert said_by("rebuild_floor") == f"The floor is made again from its journal: {count}.\n"
    assert said_by("rebuild_floor", "--check") == f"The floor is what the journal says: {count}.\n"


def test_the_command_fails_where_the_floor_differs() -> None:
    Neck.objects.filter(serial="K-2099").update(arrived_at=NOW)
    with pytest.raises(CommandError, match=r"^1 difference in .* Nothing is changed\.$") as failed:
        said_by("rebuild_floor", "--check")
    assert failed.value.returncode == 1


@pytest.mark.usefixtures("unguarded")
def test_the_command_sends_to_the_journal_first() -> None:
    alter(rows_of(SERIAL)[2], reason="Never said")
    with pytest.raises(CommandError, match="See what is wrong: manage"):
        said_by("rebuild_floor")
