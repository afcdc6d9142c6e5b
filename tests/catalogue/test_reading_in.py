"""Reading in a whole catalogue: all of it or nothing."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
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


def unknown_wood(data: dict[str, Any]) -> None:
    data["specs"][-1]["woods"].append("Lignum nullum")


def unknown_substitute(data: dict[str, Any]) -> None:
    data["specs"][0]["kit"][0]["substitutes"][0]["item"] = "T99"


def unknown_family(data: dict[str, Any]) -> None:
    data["items"][-1]["family"] = "anchors"


def unknown_station_of_a_loop(data: dict[str, Any]) -> None:
    data["loops"][0]["station"] = "?"


@pytest.mark.parametrize(
    "spoil",
    [
        unknown_item, unknown_station, unknown_operation, unknown_route, unknown_family,
        unknown_wood, unknown_substitute, unknown_station_of_a_loop,
    ],
)  # fmt: skip
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


def no_known_measure(data: dict[str, Any]) -> None:
    data["operations"][0]["gauges"] = ["girth"]


def measured_twice(data: dict[str, Any]) -> None:
    data["operations"][0]["gauges"] = ["peghead", "peghead"]


def no_known_coat(data: dict[str, Any]) -> None:
    data["specs"][0]["facts"]["coat"] = "whitewash"


def same_wood_twice(data: dict[str, Any]) -> None:
    data["woods"].append(data["woods"][0])


def short_hold(data: dict[str, Any]) -> None:
    data["specs"][0]["facts"]["hold_h"] = 95


def rest_of_nothing(data: dict[str, Any]) -> None:
    data["operations"][-1]["rest_h"] = 48


def unknown_redo(data: dict[str, Any]) -> None:
    data["loops"][0]["redo"].append("U99")


def same_loop_twice(data: dict[str, Any]) -> None:
    data["loops"].append(data["loops"][0])


def no_known_family(data: dict[str, Any]) -> None:
    data["loops"][0]["families"] = ["luck"]


def hold_of_a_day(data: dict[str, Any]) -> None:
    for route in data["routes"].values():
        for one in route["precedences"]:
            if one.get("clock") == "hold":
                one["wait_h"] = 24


@pytest.mark.parametrize(
    "spoil",
    [
        no_length, no_quantity, no_choice, twice, no_known_measure, measured_twice,
        no_known_coat, same_wood_twice, short_hold, rest_of_nothing, unknown_redo,
        same_loop_twice, no_known_family, hold_of_a_day,
    ],
)  # fmt: skip
def test_a_value_that_its_field_does_not_allow_leaves_the_catalogue_empty(
    spoil: Callable[[dict[str, Any]], None],
) -> None:
    data = data_of_the_demo()
    spoil(data)
    with pytest.raises(ValidationError):
        revising.read_in(data)
    assert book.empty()


def item(data: dict[str, Any], key: str) -> dict[str, Any]:
    found: dict[str, Any] = next(one for one in data["items"] if one["key"] == key)
    return found


@pytest.mark.parametrize(
    ("tolerances", "says"),
    [
        ("hole_mm -0.1/0.1", "hole_mm is no length of this one. It has: bushing_od_mm, post_mm"),
        ("spacing_mm -0.1/0.1", "spacing_mm is no length of this one"),  # T01 has no plate
        ("left -1/1", "left is no length of this one"),
        ("post_mm -0.1/0; post_mm 0/0.1", "post_mm stands twice"),
        ("post_mm -6/0", "post_mm -6/0 is wider than its 6 mm"),
        ("post_mm 0/6", "post_mm 0/6 is wider than its 6 mm"),
        ("post_mm 0/Infinity", "is wider than its 6 mm"),
        ("post_mm 0.1/-0.1", "write the dimension, the lower and the upper deviation"),
        ("post_mm NaN/NaN", "write the dimension, the lower and the upper deviation"),
        ("post_mm 0.1", "write the dimension, the lower and the upper deviation"),
    ],
)
def test_a_tolerance_that_cannot_be_is_refused_in_words(tolerances: str, says: str) -> None:
    data = data_of_the_demo()
    item(data, "T01")["tolerances"] = tolerances
    with pytest.raises(ValidationError) as told:
        revising.read_in(data)
    assert says in told.value.message_dict["tolerances"][0]
    assert book.empty()


def test_a_tolerance_of_a_length_the_spec_does_not_have_is_refused_in_words() -> None:
    data = data_of_the_demo()
    data["specs"][0]["facts"]["tolerances"] = "wall_mm -0.1/0.1"  # TARN has no slotted head
    with pytest.raises(ValidationError, match="wall_mm is no length of this one"):
        revising.read_in(data)


@pytest.mark.parametrize(
    ("gauges", "says"),
    [
        ("1:0.3 2:0.4 3:0.6 4:0.8 5:1.1", "Give one for each of the strings 1 2 3 4 5 6"),
        ("1:0.3 2:0.4 3:0.6 4:0.8 5:1.1 5:1.3", "Give one for each of the strings"),
        ("1:0.3 2:0.4 3:0.6 4:0.8 5:1.1 6o:1.3", "Give one for each of the strings"),
        ("1:0.3 2:-0.4", "write string, colon, diameter in mm"),
        ("1:NaN", "write string, colon, diameter in mm"),
        ("1=0.3", "write string, colon, diameter in mm"),
    ],
)
def test_string_gauges_that_cannot_be_are_refused_in_words(gauges: str, says: str) -> None:
    data = data_of_the_demo()
    item(data, "R01")["gauges"] = gauges
    with pytest.raises(ValidationError) as told:
        revising.read_in(data)
    assert says in told.value.message_dict["gauges"][0]


def test_the_limits_of_a_spec_are_read_in_with_who_set_them_and_why() -> None:
    data = data_of_the_demo()
    row = {"name": "R06.least", "value": "0.03", "by": "P-01", "on": "2031-02-20", "why": "Soft"}
    data["specs"][0]["limits"] = [row]
    revision = revising.read_in(data)[0]
    (found,) = (one for one in book.limits_of(revision.pk) if one.changed)
    assert (found.name, found.value) == ("R06.least", Decimal("0.03"))


def spoiled_limit(data: dict[str, Any]) -> None:
    row = {"name": "R99.least", "value": "0.03", "by": "P-01", "on": "2031-02-20", "why": "Soft"}
    data["specs"][0]["limits"] = [row]


def spoiled_substitute(data: dict[str, Any]) -> None:
    data["specs"][0]["kit"][0]["substitutes"][0]["item"] = "T03"


@pytest.mark.parametrize("spoil", [spoiled_limit, spoiled_substitute])
def test_a_limit_or_a_substitute_that_cannot_be_leaves_the_catalogue_empty(
    spoil: Callable[[dict[str, Any]], None],
) -> None:
    data = data_of_the_demo()
    spoil(data)
    with pytest.raises(revising.NotReady):
        revising.read_in(data)
    assert book.empty()


def test_a_kit_that_cannot_be_built_is_read_in_and_not_opened() -> None:
    """Invented figures: the bushings of T03 fall out of the holes of TARN."""
    data = data_of_the_demo()
    line = data["specs"][0]["kit"][0]
    line["item"] = "T03"
    del line["substitutes"]
    revision = revising.read_in(data)[0]
    with pytest.raises(revising.NotReady, match=r"R06: .* it will fall out"):
        revising.open_revision(revision)


LATER = {
    "gauges", "positions", "glue", "finish_age", "papers", "tolerances", "woods", "at_scale_mm",
    "coat", "substitutes", "rests", "rest_h", "machine", "trained", "proves", "freezes", "clock",
    "noted", "apart_days",
}  # fmt: skip


def test_a_file_from_before_tolerances_measuring_and_clocks_is_still_read_in() -> None:
    data = data_of_the_demo()
    del data["woods"], data["loops"]
    newer = [*data["operations"], *data["items"], *data["specs"]]
    newer += [row["facts"] for row in data["specs"]]
    newer += [line for row in data["specs"] for line in row["kit"]]
    newer += [one for route in data["routes"].values() for one in route["precedences"]]
    for row in newer:
        for name in LATER & row.keys():
            del row[name]
    first = revising.read_in(data)[0]
    revising.open_revision(first)
    assert (first.coat, first.tolerances, first.state) == ("other", "", "open")
    assert (first.hold_h, book.loops()) == (96, ())


def test_what_is_read_in_is_a_draft_until_it_is_opened() -> None:
    revising.read_in(data_of_the_demo())
    assert set(SpecRevision.objects.values_list("state", flat=True)) == {"draft"}
    assert Spec.objects.count() == 8
