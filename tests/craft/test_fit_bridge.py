"""Bridge pins and their tapered holes.

The limits and the numbers are common practice, no source, but where a test names one.
"""

from __future__ import annotations

import doctest
from dataclasses import replace
from decimal import Decimal
from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft import fit, taper
from shop.craft.finding import Severity
from shop.craft.hardware import Picked
from shop.craft.taper import diameter_at
from shop.craft.words import THIN
from tests.craft.bench import ARTICLES, SPECS, D, call, tray, wanted
from tests.craft.variations import changed, explained, fitted, rules

PLAIN = changed("P01", key="P04", name="6 plain pins", slotted=False)


# The cone.


@pytest.mark.parametrize(("degrees", "per_mm"), [(3, "0.0524"), (5, "0.0873")])
def test_a_taper_loses_the_published_width_over_each_millimetre(degrees: int, per_mm: str) -> None:
    """3° is 0.0524 mm/mm and 5° is 0.0873 mm/mm, as included angles.

    Source: acousticguitarbuild.blogspot.com, 2009, on bridge pin tapers.
    """
    lost = D(10) - diameter_at(D(10), D(degrees), D(1))
    assert lost == D(per_mm)


@pytest.mark.parametrize("degrees", [3, 5])
@pytest.mark.parametrize("depth", [1, 8, 20, 28])
def test_a_taper_is_its_included_angle_halved_on_each_side(degrees: int, depth: int) -> None:
    """tan(a / 2) = (1 − cos a) / sin a, from the math module: another way to the same width."""
    half = (1 - cos(radians(degrees))) / sin(radians(degrees))
    assert float(diameter_at(D("5.40"), D(degrees), D(depth))) == pytest.approx(
        5.40 - 2 * depth * half, abs=5e-5
    )


@given(st.decimals("1", "10", places=2), st.decimals("0.5", "12", places=1), st.integers(0, 30))
def test_a_taper_never_widens_on_its_way_down(top: Decimal, degrees: Decimal, depth: int) -> None:
    assert diameter_at(top, degrees, D(0)) == top
    assert diameter_at(top, degrees, D(depth + 1)) < diameter_at(top, degrees, D(depth))


def test_the_example_of_a_taper_holds() -> None:
    assert doctest.testmod(taper) == (0, 1)


# Pins.


def test_pins_of_another_taper_show_where_they_differ() -> None:
    """They are 0.05 mm apart under the collar and 0.75 mm apart 20 mm down."""
    (finding,) = fit.article(SPECS["TARN"], ARTICLES["P02"])
    assert (finding.rule, finding.severity) == ("R18", Severity.STOP)
    assert finding.words.replace(THIN, " ") == (
        "Pins are 5°, holes are 3°. They look the same (5.35 and 5.4 mm under the collar), "
        "but 20 mm down the pin is 3.6 mm and the hole 4.35 mm."
    )
    assert finding.basis is not None
    assert finding.basis.reckoning.replace(THIN, " ") == (
        "20 mm down: 5.35 − 2 × 20 × tan 2.5° = 3.6 mm; "
        "5.4 − 2 × 20 × tan 1.5° = 4.35 mm; 0.75 mm apart"
    ).replace("−", "\u2212")


def test_pins_of_the_slimmer_taper_are_stopped_too() -> None:
    (finding,) = fit.article(SPECS["FELL"], ARTICLES["P01"])
    assert "Pins are 3°, holes are 5°. They look the same (5.4 and 5.35" in finding.words


def test_pins_that_differ_at_the_mouth_already_are_not_said_to_look_the_same() -> None:
    thick = changed("P02", collar_mm=D("5.60"))
    (finding,) = fit.article(SPECS["TARN"], thick)
    assert "look the same" not in finding.words
    assert "differ at the mouth" in finding.words


def test_mouths_a_tenth_apart_still_look_the_same() -> None:
    (same,) = fit.article(SPECS["TARN"], changed("P02", collar_mm=D("5.50")))
    assert "look the same" in same.words
    (other,) = fit.article(SPECS["TARN"], changed("P02", collar_mm=D("5.51")))
    assert "look the same" not in other.words


def test_holes_of_a_taper_nobody_usually_reams_are_compared_at_the_pins_own_width() -> None:
    (finding,) = fitted("TARN", spec={"pin_taper_deg": D(4)})
    assert "(5.4 and 5.4" in finding.words


def test_plain_pins_in_plain_holes_are_stopped() -> None:
    (finding,) = fit.article(SPECS["TARN"], PLAIN)
    assert (finding.rule, finding.severity) == ("R18", Severity.STOP)
    assert finding.words == "Pins are plain and the holes are plain too: the string will pop out."


def test_a_bridge_with_slotted_holes_takes_plain_pins_only() -> None:
    spec = {"pins_slotted": False}
    assert fitted("TARN", spec=spec, pins={"slotted": False}) == ()
    (finding,) = fitted("TARN", spec=spec)
    assert finding.words.startswith("Pins are slotted and the holes are slotted too")


def test_as_many_pins_as_strings() -> None:
    (finding,) = fit.article(SPECS["FIRTH"], ARTICLES["P01"])
    assert finding.words == "6 pins in the set, this bridge takes 12."
    assert rules(fit.article(SPECS["TARN"], ARTICLES["P03"])) == ["R18"]


def test_a_tied_bridge_takes_no_pins() -> None:
    (finding,) = fit.article(SPECS["VOE"], ARTICLES["P01"])
    assert (finding.rule, finding.severity) == ("R18", Severity.STOP)
    assert "it takes no pins" in finding.words
    listed = fit.kit(SPECS["VOE"], [wanted("P01")], [Picked(article=ARTICLES["P01"])])
    assert rules(listed) == ["R18"]


def test_pins_in_the_tray_of_a_tied_bridge_are_told_once() -> None:
    usual = tray("VOE")
    lines = (*usual.lines, Picked(article=ARTICLES["P01"]))
    assert rules(fit.check(call("VOE"), replace(usual, lines=lines))) == ["count"]


def test_each_way_a_set_of_pins_differs_is_told() -> None:
    findings = fit.article(SPECS["FIRTH"], changed("P02", slotted=False))
    assert rules(findings) == ["R18", "R18", "R18"]
    assert all(explained(one) for one in findings)
    assert all(explained(one) for one in fit.article(SPECS["VOE"], PLAIN))


def test_pins_offered_for_short_ones_are_stopped_with_the_look_they_share() -> None:
    """The clerk offers 5° pins for 3° ones. Common practice, no source."""
    (stop,) = fit.article(SPECS["HOLM"], ARTICLES["P02"])
    assert "5.35" in stop.words
    assert "5.4" in stop.words
    assert "look the same" in stop.words
