"""Which cautions are set large on paper. What hurts: common practice, no source."""

from __future__ import annotations

import pytest

from shop.craft.cautions import GRAVE, is_grave


@pytest.mark.parametrize(
    "caution",
    [
        "Keep the guard and interlock of the joint machine shut.",
        "Bone dust: mask and extraction.",
        "Solvents: fresh air, no flame.",
        "OILY RAGS HEAT BY THEMSELVES",
        "Lift boxes with two people above your local limit.",
    ],
)
def test_machines_dust_solvents_oily_rags_and_lifting_are_grave(caution: str) -> None:
    assert is_grave(caution)


@pytest.mark.parametrize("word", GRAVE)
def test_each_word_is_known_wherever_it_stands(word: str) -> None:
    assert is_grave(f"({word.capitalize()}), then.")


@pytest.mark.parametrize(
    "caution",
    ["", "Lay it on felt, never on rubber.", "Only where the pickguard lay.", "Dusty: wipe it."],
)
def test_what_only_marks_the_guitar_is_not(caution: str) -> None:
    assert not is_grave(caution)
