"""What a set-up aims at: what the spec says, else what is usual for the kind of guitar."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shop.craft.set_up.aims import Kind, aims, kind_of, relief_range
from tests.craft.bench import SPECS, D

# By kind: relief least and most, action bass and treble. Relief, 12-string and nylon figures
# are common practice, no source; 2.4 and 1.6 are one maker's published figures.
USUAL = {
    "TARN": (Kind.STEEL, "0.15", "0.25", "2.4", "1.6"),
    "FIRTH": (Kind.PAIRED, "0.20", "0.35", "2.3", "1.6"),
    "VOE": (Kind.NYLON, "0.10", "0.30", "4.0", "3.0"),
}


@pytest.mark.parametrize("key", USUAL)
def test_a_silent_spec_gets_what_is_usual_for_its_kind(key: str) -> None:
    kind, least, most, bass, treble = USUAL[key]
    found = aims(SPECS[key])
    assert (kind_of(SPECS[key]), found.kind) == (kind, kind)
    assert (found.relief_least_mm, found.relief_most_mm) == (D(least), D(most))
    assert (found.action_bass_mm, found.action_treble_mm) == (D(bass), D(treble))
    assert found.relief_least_mm <= found.relief_mm <= found.relief_most_mm


@pytest.mark.parametrize(("key", "place"), [("TARN", "648.8"), ("NESS", "636"), ("VOE", "651.5")])
def test_the_middle_of_the_saddle_stands_beyond_the_scale(key: str, place: str) -> None:
    """3.8 for scales of 635 to 654 and 4 for short ones by published placement tables; nylon
    between 1 and 2 by one maker's published practice."""
    assert aims(SPECS[key]).bridge_place_mm == D(place)


def test_a_spec_that_speaks_is_heard() -> None:
    said = {
        "relief_mm": D("0.1"), "relief_least_mm": D("0.05"), "relief_most_mm": D("0.12"),
        "action_bass_mm": D("2.2"), "action_treble_mm": D("1.5"), "frets": 22,
        "fret_height_mm": D("1.3"), "fall_off_mm": D(0), "compensation_mm": D("2.2"),
        "slant_mm": D(0), "bridge_height_mm": D(9), "board_mm": D(6),
    }  # fmt: skip
    found = aims(replace(SPECS["TARN"], **said))  # type: ignore[arg-type]
    assert {name: getattr(found, name) for name in said} == said


def test_a_relief_outside_what_is_usual_widens_its_range() -> None:
    found = aims(replace(SPECS["TARN"], relief_mm=D("0.31")))
    assert (found.relief_least_mm, found.relief_most_mm) == (D("0.15"), D("0.31"))
    found = aims(replace(SPECS["TARN"], relief_mm=D("0.05")))
    assert (found.relief_least_mm, found.relief_most_mm) == (D("0.05"), D("0.25"))


@pytest.mark.parametrize(
    ("kind", "relief", "least", "most", "found"),
    [
        (Kind.STEEL, "0.20", None, None, ("0.15", "0.25")),
        (Kind.STEEL, "0.20", "0.18", None, ("0.18", "0.25")),
        (Kind.PAIRED, "0.40", None, None, ("0.20", "0.40")),
        (Kind.NYLON, "0.20", None, "0.22", ("0.10", "0.22")),
    ],
)
def test_an_end_that_is_left_open_is_the_usual_one_of_its_kind(
    kind: Kind, relief: str, least: str | None, most: str | None, found: tuple[str, str]
) -> None:
    ends = (None if one is None else D(one) for one in (least, most))
    assert relief_range(kind, D(relief), *ends) == tuple(map(D, found))


def test_the_action_of_a_side_is_that_of_its_outer_string() -> None:
    found = aims(SPECS["TARN"])
    assert (found.action_mm("bass"), found.action_mm("treble")) == (D("2.4"), D("1.6"))
    with pytest.raises(ValueError, match="'middle'"):
        found.action_mm("middle")
