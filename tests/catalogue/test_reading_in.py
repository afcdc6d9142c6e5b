"""Reading in a whole catalogue: all of it or nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from shop.catalogue import book, revising
from shop.catalogue.models import Spec, SpecRevision
from shop.floor.demo.loading import WORKSHOP

pytestmark = pytest.mark.django_db


def data_of_the_demo() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(WORKSHOP.read_text(encoding="utf-8"))
    return data


def unknown_item(data: dict[str, Any]) -> None:
    data["specs"][-1]["kit"][-1]["item"] = "T99"


def unknown_station(data: dict[str, Any]) -> None:
    data["operations"][-1]["station"] = "?"


def unknown_operation(data: dict[str, Any]) -> None:
    next(reversed(data["routes"].values()))["stops"].append("N99")


def unknown_route(data: dict[str, Any]) -> None:
    data["specs"][-1]["route"] = "By boat"


def unknown_family(data: dict[str, Any]) -> None:
    data["items"][-1]["family"] = "anchors"


@pytest.mark.parametrize(
    "spoil", [unknown_item, unknown_station, unknown_operation, unknown_route, unknown_family]
)
def test_a_name_that_is_used_but_not_given_leaves_the_catalogue_empty(
    spoil: Callable[[dict[str, Any]], None],
) -> None:
    data = data_of_the_demo()
    spoil(data)
    with pytest.raises(KeyError):
        revising.read_in(data)
    assert book.empty()


def no_length(data: dict[str, Any]) -> None:
    data["specs"][-1]["facts"]["scale_mm"] = "0"


def no_quantity(data: dict[str, Any]) -> None:
    data["items"][-1]["inside_depth_mm"] = "-130"


def no_choice(data: dict[str, Any]) -> None:
    data["specs"][-1]["facts"]["hand"] = "both"


def twice(data: dict[str, Any]) -> None:
    data["items"].append(data["items"][-1])


@pytest.mark.parametrize("spoil", [no_length, no_quantity, no_choice, twice])
def test_a_value_that_its_field_does_not_allow_leaves_the_catalogue_empty(
    spoil: Callable[[dict[str, Any]], None],
) -> None:
    data = data_of_the_demo()
    spoil(data)
    with pytest.raises(ValidationError):
        revising.read_in(data)
    assert book.empty()


def test_what_is_read_in_is_a_draft_until_it_is_opened() -> None:
    revising.read_in(data_of_the_demo())
    assert set(SpecRevision.objects.values_list("state", flat=True)) == {"draft"}
    assert Spec.objects.count() == 8
