"""What moving to a newer catalogue does to the rows that are there, and back."""

from __future__ import annotations

import importlib
from typing import Any

import pytest
from django.apps import apps

from shop.catalogue.models import Item, KitLine, Substitute

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

STEP = importlib.import_module("shop.catalogue.migrations.0003_substitutes_say_who_approved")


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
