"""What the database itself refuses, whoever asks."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, models, transaction
from django.db.models import DecimalField, F

from shop.catalogue.models import (
    PARTS,
    Gauging,
    Item,
    KitLine,
    LimitChange,
    Loop,
    Operation,
    Precedence,
    SpecRevision,
    Substitute,
    TunerSet,
    Wood,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

COUNTS: list[tuple[type[models.Model], str]] = [
    (SpecRevision, "strings"),
    (SpecRevision, "tension_limit_n"),
    (SpecRevision, "body_joint_fret"),
    (SpecRevision, "frets"),
    (KitLine, "quantity"),
    *((part, name) for part in PARTS for name in ("string_count", "count", "tension_n")),
]
MODELS: tuple[type[models.Model], ...] = (*PARTS, SpecRevision, Operation)
# A relief of nothing, a board that does not fall off, a saddle straight across: they are real.
FROM_ZERO = {"relief_least_mm", "fall_off_mm", "compensation_mm", "slant_mm"}
MEASURES: list[tuple[type[models.Model], str]] = [
    (model, field.name)
    for model in MODELS
    for field in model._meta.local_fields
    if isinstance(field, DecimalField) and field.name not in FROM_ZERO
] + [
    (model, name)
    for model, name in COUNTS
    if name in {field.name for field in model._meta.local_fields}
]


def refused(rows: Any, **values: Any) -> bool:
    """Whether the database refuses these values on the first of the rows."""
    first = rows.order_by("pk")[0].pk
    try:
        with transaction.atomic():
            rows.model._default_manager.filter(pk=first).update(**values)
    except IntegrityError:
        return True
    return False


@pytest.mark.parametrize("name", sorted(FROM_ZERO))
def test_what_a_set_up_may_do_without_is_zero_and_never_less(name: str) -> None:
    rows = SpecRevision.objects.all()
    assert not refused(rows, **{name: 0})
    assert refused(rows, **{name: Decimal("-0.1")})


@pytest.mark.parametrize(
    ("model", "name"), MEASURES, ids=[f"{model.__name__}.{name}" for model, name in MEASURES]
)
def test_no_measure_or_count_is_zero(model: type[models.Model], name: str) -> None:
    rows = model._default_manager.filter(**{f"{name}__isnull": False})
    assert refused(rows if rows.exists() else model._default_manager.all(), **{name: 0})


@pytest.mark.parametrize(
    ("model", "name"), MEASURES, ids=[f"{model.__name__}.{name}" for model, name in MEASURES]
)
def test_every_measure_and_count_takes_a_one(model: type[models.Model], name: str) -> None:
    """The other half: what refuses zero does not refuse everything."""
    rows = model._default_manager.all()
    if name in {"peghead_max_mm", "grip_max_mm"}:
        rows = rows.filter(**{f"{name.replace('max', 'min')}__isnull": True})
    assert not refused(rows, **{name: 1})


@pytest.mark.parametrize("state", ["open", "draft"])
def test_a_spec_has_one_revision_of_a_state_at_most(state: str) -> None:
    first = SpecRevision.objects.get(spec__key="TARN")
    SpecRevision.objects.filter(pk=first.pk).update(state=state)
    second = SpecRevision.objects.get(pk=first.pk)
    second.pk, second.number, second.state = None, 2, "closed"
    second._state.adding = True
    second.save()
    assert refused(SpecRevision.objects.filter(pk=second.pk), state=state)


def test_a_spec_may_have_many_closed_revisions() -> None:
    first = SpecRevision.objects.get(spec__key="TARN")
    for number in (2, 3):
        first.pk, first.number, first.state = None, number, "closed"
        first._state.adding = True
        first.save()
    assert SpecRevision.objects.filter(spec__key="TARN", state="closed").count() == 2


def test_a_revision_with_bushings_says_which_hole_they_take() -> None:
    assert refused(SpecRevision.objects.filter(bushing="press"), bushing_hole_mm=None)


def test_a_revision_with_an_end_pin_says_which_hole_it_takes() -> None:
    assert refused(SpecRevision.objects.filter(tail="pin"), tail_hole_mm=None)


def test_a_set_with_bushings_says_how_wide_they_are() -> None:
    assert refused(TunerSet.objects.filter(bushing="press"), bushing_od_mm=None)


def test_a_set_has_some_machines() -> None:
    assert refused(TunerSet.objects.all(), left=0, right=0)


def test_a_set_for_pegheads_from_thick_to_thin_is_refused() -> None:
    rows = TunerSet.objects.filter(peghead_min_mm__isnull=False)
    assert refused(rows, peghead_max_mm=F("peghead_min_mm") - 1)


def test_an_operation_does_not_come_before_itself() -> None:
    assert refused(Precedence.objects.all(), before=F("after"))


def test_a_wait_is_not_negative() -> None:
    assert refused(Precedence.objects.all(), wait=timedelta(seconds=-1))


def test_the_hold_of_a_route_is_96_hours_at_least() -> None:
    """Common practice, no source."""
    hold = Precedence.objects.filter(clock="hold")
    assert refused(hold, wait=timedelta(hours=96) - timedelta(seconds=1))
    assert not refused(hold, wait=timedelta(hours=96))


def test_the_hold_of_a_route_is_never_only_noted() -> None:
    assert refused(Precedence.objects.filter(clock="hold"), noted=True)
    assert not refused(Precedence.objects.filter(clock="settle"), noted=True)


def test_a_route_has_one_hold() -> None:
    hold = Precedence.objects.filter(clock="hold").order_by("pk")[0]
    other = Precedence.objects.filter(route=hold.route).exclude(pk=hold.pk)
    assert refused(other, clock="hold", wait=hold.wait, noted=False)
    assert not refused(other, clock="settle", wait=hold.wait, noted=False)


def test_days_apart_are_of_persons() -> None:
    assert refused(Precedence.objects.filter(other_person=False), apart_days=7)
    assert not refused(Precedence.objects.filter(other_person=True), apart_days=3)


def test_the_hold_of_a_spec_is_96_hours_at_least() -> None:
    """Common practice, no source."""
    assert refused(SpecRevision.objects.all(), hold_h=95)
    assert not refused(SpecRevision.objects.all(), hold_h=96)


def test_a_part_that_rests_is_a_body_or_a_neck() -> None:
    assert refused(Operation.objects.filter(code="B10"), rests="case")
    assert not refused(Operation.objects.filter(code="B10"), rests="neck")


def test_hours_of_rest_are_of_a_part() -> None:
    assert refused(Operation.objects.filter(code="B20"), rest_h=1)
    assert not refused(Operation.objects.filter(code="B10"), rest_h=1)


def test_two_loops_never_share_a_key() -> None:
    assert refused(Loop.objects.filter(key="fret"), key="set-up")


@pytest.mark.parametrize(
    "values",
    [{"minutes": 0}, {"per_mm": 0}, {"dry_h": 0}, {"most_h": 23}],
    ids=lambda values: next(iter(values)),
)
def test_a_loop_that_takes_or_dries_no_time_it_can_is_refused(values: dict[str, int]) -> None:
    """Invented figures: a finish chip dries 24 h for each 0.2 mm, 168 h at most."""
    assert refused(Loop.objects.filter(key="finish chip"), **values)
    assert not refused(
        Loop.objects.filter(key="finish chip"), minutes=1, per_mm=1, dry_h=1, most_h=1
    )


def test_an_operation_asks_for_a_tray_or_a_neck_or_nothing() -> None:
    assert refused(Operation.objects.all(), needs="luck")


def test_two_items_never_share_a_key() -> None:
    assert refused(Item.objects.filter(key="T01"), key="T02")


def test_a_kit_names_an_item_once() -> None:
    line = KitLine.objects.order_by("pk")[0]
    assert refused(KitLine.objects.filter(kit=line.kit).exclude(pk=line.pk), item=line.item)


@pytest.mark.parametrize("lacks", ["approved_by", "why"])
def test_a_substitute_says_who_approved_it_and_why(lacks: str) -> None:
    assert refused(Substitute.objects.all(), **{lacks: ""})


def test_a_line_names_a_substitute_once() -> None:
    first = Substitute.objects.get()
    other = Substitute.objects.create(
        line=first.line,
        item=Item.objects.get(key="T02"),
        approved_by="P-01",
        on=first.on,
        why="For gold",
    )
    assert refused(Substitute.objects.filter(pk=other.pk), item=first.item)


def test_a_limit_is_not_changed_without_a_reason() -> None:
    revision = SpecRevision.objects.order_by("pk")[0]
    LimitChange.objects.create(
        revision=revision, name="R06.least", by="P-01", on=date(2031, 3, 3), why="Soft wood"
    )
    assert refused(LimitChange.objects.all(), why="")


def test_an_operation_measures_a_thing_once() -> None:
    rows = Gauging.objects.filter(operation__code="N60")
    assert refused(rows.filter(quantity="pilot"), quantity="collar")


def test_two_woods_never_share_a_botanical_name() -> None:
    assert refused(Wood.objects.filter(name="sapele"), botanical="Picea sitchensis")


@pytest.mark.parametrize(("name", "value"), [("glue", "paste"), ("finish_age", "note")])
def test_an_operation_takes_only_what_is_known_of_glue_and_finish(name: str, value: str) -> None:
    assert refused(Operation.objects.all(), **{name: value})


@pytest.mark.parametrize("part", PARTS, ids=[part.__name__ for part in PARTS])
def test_an_item_told_only_by_its_number_still_knows_its_dimensions(part: type[Item]) -> None:
    whole = part._default_manager.order_by("pk")[0]
    assert Item.objects.get(pk=whole.pk).facts() == whole.facts()
