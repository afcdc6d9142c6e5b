"""What moving to a newer catalogue does to the rows that are there, and back."""

from __future__ import annotations

import importlib
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps

from shop.catalogue.models import Item, KitLine, Precedence, Route, Substitute

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

STEP = importlib.import_module("shop.catalogue.migrations.0003_substitutes_say_who_approved")
HOLDS = importlib.import_module("shop.catalogue.migrations.0005_long_waits_are_holds")


class Link:
    """A row of the plain list that stood in the place of approvals."""

    def __init__(self, line: int, item: int) -> None:
        self.kitline_id, self.item_id = line, item


class Lines:
    """The kit lines as they were: with a plain list of substitutes."""

    def __init__(self, *links: Link) -> None:
        self.links = list(links)
        self.added: list[tuple[int, int]] = []

    def get_model(self, room: str, name: str) -> Any:
        return self if name == "KitLine" else apps.get_model(room, name)

    @property
    def substitutes(self) -> Any:
        return self

    through = objects = substitutes

    def all(self) -> list[Link]:
        return self.links

    def get(self, pk: int) -> Lines:
        self.line = pk
        return self

    def add(self, item: int) -> None:
        self.added.append((self.line, item))


@pytest.fixture
def approved() -> Link:
    Substitute.objects.all().delete()
    line, item = KitLine.objects.order_by("pk")[0], Item.objects.get(key="T04")
    return Link(line.pk, item.pk)


def test_what_was_approved_before_stays_approved_and_says_that_nobody_wrote_down_by_whom(
    approved: Link,
) -> None:
    STEP.carry_over(Lines(approved), None)
    (row,) = Substitute.objects.all()
    assert (row.line_id, row.item_id) == (approved.kitline_id, approved.item_id)
    assert (row.approved_by, row.why) == ("the lead", "before approvals were kept")


def test_going_back_keeps_what_is_approved(approved: Link) -> None:
    STEP.carry_over(Lines(approved), None)
    old = Lines()
    STEP.carry_back(old, None)
    assert old.added == [(approved.kitline_id, approved.item_id)]


def holds() -> set[tuple[str, str]]:
    rows = Precedence.objects.filter(clock="hold").select_related("before", "after")
    return {(row.before.code, row.after.code) for row in rows}


def test_the_wait_of_days_that_a_route_had_before_clocks_were_named_is_its_hold() -> None:
    Precedence.objects.update(clock="")
    HOLDS.name_them(apps, None)
    assert holds() == {("I20", "I30")}
    assert Precedence.objects.filter(clock="hold").count() == Route.objects.count()
    assert set(Precedence.objects.values_list("clock", flat=True)) == {"", "hold"}


def test_the_longest_of_two_waits_of_days_is_the_hold_and_a_shorter_one_is_none() -> None:
    Precedence.objects.update(clock="")
    Precedence.objects.filter(after__code="I50").update(wait=timedelta(hours=120))
    Precedence.objects.filter(after__code="Z20").update(wait=timedelta(hours=95))
    HOLDS.name_them(apps, None)
    assert holds() == {("I30", "I50")}


def test_a_route_without_a_wait_of_days_gets_no_hold() -> None:
    Precedence.objects.update(clock="")
    Precedence.objects.filter(after__code="I30").update(wait=timedelta(hours=95))
    HOLDS.name_them(apps, None)
    assert holds() == set()
