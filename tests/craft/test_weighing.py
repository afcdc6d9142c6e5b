"""Counting small parts by their weight, and when the count is not to be believed.

The law of propagation and the half width of a rectangle over the root of 3 are JCGM 100:2008
(GUM), 5.1.2 and 4.3.7. Weights are made up; what is doubtful is common practice, no source.
"""

from __future__ import annotations

import random
from decimal import Decimal
from statistics import mean

import pytest

from shop.craft import weighing
from shop.craft.weighing import NoCount, Weighed
from shop.craft.words import THIN

D = Decimal


def weighed(
    gross: str, bag: str = "1.20", unit: str = "0.25", sd: str = "0.004", **more: object
) -> Weighed:
    return weighing.count(D(gross), D(bag), D(unit), D(sd), **more)  # type: ignore[arg-type]


def test_fourteen_screws_by_hand() -> None:
    """n = (4.69 - 1.20)/0.25 = 13.96. Variances in g²: the two readings 2·0.01²/12 = 0.0000167,
    the unit weight (13.96·0.004)²/20 = 0.0001559, the pieces 13.96·0.004² = 0.0002234; the root
    of their sum is 0.01990, twice that over 0.25 is 0.159. By the GUM as cited above."""
    found = weighed("4.69")
    assert (found.count, found.value, found.doubtful) == (14, D("13.96"), False)
    assert abs(found.uncertainty - D("0.1592")) < D("0.0001")
    assert found.words == "14 pieces (13.96 ± 0.16)."


def test_one_screw_short_is_seen() -> None:
    assert (weighed("4.45").count, weighed("4.45").doubtful) == (13, False)


@pytest.mark.parametrize(
    ("resolution", "sd", "pieces"),
    [("0.01", "0", 1), ("0.1", "0", 1), ("0.01", "0.004", 20), ("0.01", "0.01", 5)],
)
def test_each_input_brings_its_part(resolution: str, sd: str, pieces: int) -> None:
    """The same law summed term by term in floating point (GUM 5.1.2)."""
    found = weighed("4.69", sd=sd, resolution_g=D(resolution), unit_pieces=pieces)
    a, n, s = float(resolution) / 2, 13.96, float(sd)
    terms = [a / 3**0.5, a / 3**0.5, n * s / pieces**0.5, n**0.5 * s]
    assert float(found.uncertainty) == pytest.approx(2 * sum(t**2 for t in terms) ** 0.5 / 0.25)


def test_the_true_count_lies_within_what_is_told_about_19_times_in_20() -> None:
    """A coverage factor of 2 holds about 95 % (GUM 6.3.3). Simulated, one seed."""
    dice = random.Random(20310303)
    tries, held = 4000, 0
    for _ in range(tries):
        true = dice.randint(1, 60)
        unit = mean(dice.gauss(0.25, 0.01) for _ in range(20))
        bag = dice.uniform(1.0, 1.4)
        full = bag + sum(dice.gauss(0.25, 0.01) for _ in range(true))
        found = weighing.count(D(f"{full:.2f}"), D(f"{bag:.2f}"), D(f"{unit:.6f}"), D("0.01"))
        held += abs(found.value - true) <= found.uncertainty
    assert 0.935 < held / tries < 0.97


def test_a_count_is_doubtful_from_where_its_interval_passes_the_half() -> None:
    """A piece of 0.25 ± 0.01 g: by the law above 19 are ± 0.488 and 20 are ± 0.507."""
    sure, unsure = weighed("4.76", bag="0.01", sd="0.01"), weighed("5.01", bag="0.01", sd="0.01")
    assert (sure.count, sure.value, sure.doubtful) == (19, D(19), False)
    assert (unsure.count, unsure.value, unsure.doubtful) == (20, D(20), True)
    assert unsure.words == "20.00 ± 0.51 pieces: it may be 19 to 21. Count them."


@pytest.mark.parametrize(("gross", "doubtful"), [("9.24", False), ("9.26", True), ("8.74", True)])
def test_a_weight_between_two_counts_is_of_something_else_too(gross: str, doubtful: bool) -> None:
    """One piece weighs 1 g, to 0.001: a quarter of it is no piece."""
    found = weighed(gross, bag="0", unit="1", sd="0.001")
    assert (found.count, found.doubtful) == (9, doubtful)


def test_what_does_not_belong_is_told_by_its_weight() -> None:
    heavy, light = (weighed(one, bag="0", unit="1", sd="0.001") for one in ("8.30", "8.70"))
    assert heavy.words == (
        f"8.30 ± 0.01 pieces: 0.3{THIN}g more than 8 weigh. "
        "Look for what does not belong, then count."
    )
    assert f"0.3{THIN}g less than 9 weigh" in light.words


def test_an_empty_bag_holds_nothing() -> None:
    found = weighed("1.20")
    assert (found.count, found.doubtful) == (0, False)


@pytest.mark.parametrize(
    ("weights", "words"),
    [
        (("1.00", "1.20", "0.25", "0.004"), f"1{THIN}g is less than the empty bag, 1.2{THIN}g."),
        (("1.00", "-0.1", "0.25", "0.004"), f"An empty bag of \u22120.1{THIN}g cannot be."),
        (("4.69", "1.20", "0", "0.004"), f"One piece of 0{THIN}g ± 0.004{THIN}g, out of 20,"),
        (("4.69", "1.20", "0.25", "-1"), f"One piece of 0.25{THIN}g ± \u22121{THIN}g, out of 20,"),
        (("NaN", "1.20", "0.25", "0.004"), "One of the weights is no number."),
        (("4.69", "1.20", "Infinity", "0.004"), "One of the weights is no number."),
    ],
)
def test_weights_that_cannot_be_are_told(weights: tuple[str, ...], words: str) -> None:
    with pytest.raises(NoCount) as told:
        weighed(*weights)
    assert str(told.value).startswith(words)


def test_a_scale_without_steps_and_a_unit_of_no_pieces_are_told() -> None:
    with pytest.raises(NoCount, match="No scale has steps of 0"):
        weighed("4.69", resolution_g=D(0))
    with pytest.raises(NoCount, match="out of 0, cannot be"):
        weighed("4.69", unit_pieces=0)
