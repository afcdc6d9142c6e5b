"""Each marked machine on the post of its string: R26. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest

from shop.craft import fit
from shop.craft.finding import Severity
from shop.craft.head import posts
from tests.craft.bench import KITS, SPECS, call


def marks(spec: str) -> dict[str, str]:
    """Every mark on the post it belongs to."""
    return {post.key: post.mark for post in posts(SPECS[spec])}


@pytest.mark.parametrize("spec", KITS)
def test_machines_each_on_their_own_post_are_clean(spec: str) -> None:
    assert len(marks(spec)) == SPECS[spec].strings
    assert fit.placed(call(spec), marks(spec)) == ()


def test_two_machines_that_changed_places_are_each_named_with_their_post() -> None:
    right = marks("HOLM")
    assert (right["L2"], right["L3"]) == ("5", "4")  # from the nut on the left: 6, 5, 4
    first, second = fit.placed(call("HOLM"), right | {"L2": "4", "L3": "5"})
    assert {first.severity, second.severity} == {Severity.STOP}
    assert first.rule == "R26"
    assert first.words == (
        "Machine marked 4 is on the post of string 5, left side, second from the nut, "
        "seen from the FRONT."
    )
    assert first.then == "Swap it before you drill: 5 belongs there."
    assert second.words == (
        "Machine marked 5 is on the post of string 4, left side, third from the nut, "
        "seen from the FRONT."
    )
    assert first.basis is not None
    assert first.basis.sides == (
        ("Mark on the machine", "4"),
        ("Post left side, second from the nut", "string 5"),
    )
    assert first.basis.limit
    assert first.basis.origin == "common practice"


def test_every_other_order_of_six_machines_is_caught_post_by_post() -> None:
    right = marks("WOLD")
    for order in permutations(right.values()):
        placed = dict(zip(right, order, strict=True))
        wrong = [key for key, mark in placed.items() if mark != right[key]]
        assert len(fit.placed(call("WOLD"), placed)) == len(wrong)


def test_on_a_left_handed_head_the_thick_strings_are_on_the_right() -> None:
    assert {marks("WOLD")[one] for one in ("R1", "R2", "R3")} == {"6", "5", "4"}
    # Every machine stops that sits as it would on a right-handed head.
    assert len(fit.placed(call("WOLD"), marks("HOLM"))) == 6


def test_a_post_whose_mark_is_not_read_yet_is_not_spoken_of() -> None:
    assert fit.placed(call("HOLM"), {}) == ()
    assert len(fit.placed(call("HOLM"), {"L1": "1"})) == 1


def test_a_mark_on_a_post_this_head_does_not_have_is_not_spoken_of() -> None:
    assert fit.placed(call("HOLM"), {"L7": "6"}) == ()


def test_an_octave_machine_on_the_post_of_its_pair_is_caught() -> None:
    right = marks("FIRTH")
    at = {mark: key for key, mark in right.items()}
    swapped = right | {at["5"]: "5o", at["5o"]: "5"}
    assert {one.words.split()[2] for one in fit.placed(call("FIRTH"), swapped)} == {"5", "5o"}


def test_turned_about_six_in_line_have_their_machines_the_other_way() -> None:
    turned = replace(call("SKERRY"), spec=replace(SPECS["SKERRY"], reversed_line=True))
    assert fit.placed(turned, {post.key: post.mark for post in posts(turned.spec)}) == ()
    assert [post.string for post in posts(turned.spec) if post.order == 1] == ["1"]
    assert [post.string for post in posts(SPECS["SKERRY"]) if post.order == 1] == ["6"]
