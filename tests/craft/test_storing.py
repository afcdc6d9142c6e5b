"""Look-alikes lie apart: pins of two tapers by a metre, nickel and chrome on two aisles.

Common practice, no source. Articles are the invented workshop's.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from shop.craft.hardware import Article, Metal, Pins, StrapButton
from shop.craft.storing import Kept, look_alikes
from shop.craft.words import THIN

D = Decimal


def pins(key: str, taper: int, collar: str) -> Pins:
    return Pins(
        key=key, name="6 pins", count=6, taper_deg=D(taper), collar_mm=D(collar), slotted=True
    )


P01, P02, P03 = pins("P01", 3, "5.40"), pins("P02", 5, "5.35"), pins("P03", 3, "5.40")


def button(key: str, metal: Metal) -> StrapButton:
    return StrapButton(
        key=key, name="heel button", metal=metal, screw_mm=D("4.2"), screw_length_mm=D(25),
        pilot_mm=D(3),
    )  # fmt: skip


NICKEL, CHROME = button("E04", Metal.NICKEL), button("E06", Metal.CHROME)
BLACK, GOLD = button("E05", Metal.BLACK), button("E07", Metal.GOLD)


def kept(code: str, article: Article, aisle: int | None = None, along: str = "") -> Kept:
    return Kept(code, aisle, D(along) if along else None, article)


def words(*of: Kept) -> list[str]:
    return [one.words for one in look_alikes(of)]


def test_pins_of_two_tapers_nearer_than_a_metre_are_told_with_every_number() -> None:
    [found] = look_alikes([kept("C-12", P02, 3, "1.9"), kept("C-11", P01, 3, "1.0")])
    assert found.severity == "warn"
    assert found.words == (
        f"P01 (C-11), 3°, and P02 (C-12), 5°, lie 0.9{THIN}m apart on aisle 3. They look the "
        f"same: 5.4 and 5.35{THIN}mm under the collar."
    )
    assert found.then == f"Keep them 1{THIN}m apart, or on two aisles."
    assert found.basis is not None
    assert found.basis.sides == (
        ("P01 (C-11)", f"3°, aisle 3, 1{THIN}m"), ("P02 (C-12)", f"5°, aisle 3, 1.9{THIN}m")
    )  # fmt: skip


@pytest.mark.parametrize(("aisle", "along"), [(3, "2.0"), (3, "0.0"), (2, "1.0")])
def test_a_metre_or_another_aisle_is_enough(aisle: int, along: str) -> None:
    assert words(kept("C-11", P01, 3, "1.0"), kept("C-12", P02, aisle, along)) == []


def test_pins_of_one_taper_may_lie_together() -> None:
    assert words(kept("C-11", P01, 3, "1.0"), kept("C-13", P03, 3, "1.1")) == []


@pytest.mark.parametrize(("code", "near"), [("C-12", True), ("C-13", False), ("D-12", False)])
def test_without_a_place_the_codes_say_what_stands_side_by_side(code: str, near: bool) -> None:
    found = words(kept("C-11", P01), kept(code, P02))
    assert ("lie in bins side by side" in " ".join(found)) is near


def test_one_bin_is_too_near_wherever_it_stands() -> None:
    assert "lie in one bin" in words(kept("C-11", P01), kept("C-11", P02))[0]


def test_a_code_without_a_number_has_no_neighbour() -> None:
    assert words(kept("no bin", P01), kept("C-12", P02)) == []


def test_nickel_and_chrome_on_one_aisle_are_told_once_with_every_bin() -> None:
    more = button("E08", Metal.CHROME)
    [found] = look_alikes(
        [kept("D-04", NICKEL, 4, "0.2"), kept("D-06", CHROME, 4, "5.0"), kept("D-08", more, 4, "9")]
    )
    assert found.words == (
        "Strap button of two metals on aisle 4: E04 (D-04) in nickel and E06 (D-06) and "
        "E08 (D-08) in chrome. They look alike under warm light."
    )
    assert found.then == "Keep the one metal on another aisle."
    assert found.basis is not None
    assert [side for side, _ in found.basis.sides] == ["E04 (D-04)", "E06 (D-06)", "E08 (D-08)"]


@pytest.mark.parametrize(
    "other",
    [kept("D-06", CHROME, 5, "0.2"), kept("D-05", BLACK, 4, "0.3"), kept("D-07", GOLD, 4, "0.3")],
)
def test_another_aisle_or_a_metal_of_another_look_is_nothing(other: Kept) -> None:
    assert words(kept("D-04", NICKEL, 4, "0.2"), other) == []


def test_metals_of_two_families_are_not_taken_for_each_other() -> None:
    chromed = Pins(
        key="P09", name="pins", metal=Metal.CHROME, count=6, taper_deg=D(3), collar_mm=D(5),
        slotted=True,
    )  # fmt: skip
    assert words(kept("D-04", NICKEL, 4, "0.2"), kept("D-05", chromed, 4, "0.3")) == []


@pytest.mark.parametrize(("code", "near"), [("D-05", True), ("D-04", True), ("D-06", False)])
def test_metals_without_a_place_are_told_side_by_side(code: str, near: bool) -> None:
    assert bool(words(kept("D-04", NICKEL), kept(code, CHROME))) is near
