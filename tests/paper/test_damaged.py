"""A tag is read whatever the shop has done to it: by zxing-cpp, which drew none of it."""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from unittest import mock

import numpy as np
import pytest
from PIL import Image

from shop.craft.code import Kind, mint
from shop.floor import board
from shop.floor.board import NextPrint, State
from shop.paper import forms, press
from shop.paper.scan import tag_address
from tests.floor.morning import NOW, now
from tests.paper.damage import DAMAGE, FINE, QUIET, SIDE, hidden, taken
from tests.paper.reading import pictures, squares

pytestmark = pytest.mark.usefixtures("morning", "db")

SEED = 20310303
MANY = 1000
DPI = 110
EACH = 60  # tags to a kind of damage
CAMERA_PX = 3.0  # pixels a module, the least that is asked for


def tags(count: int) -> tuple[bytes, list[str]]:
    """Body tags of so many instruments that differ in nothing but serial and code, and what
    their squares hold."""
    rng = random.Random(SEED)
    one = now("Q-1043")
    them = {f"Q-{number}": replace(one, id=number) for number in range(1000, 1000 + count)}
    codes = {state.id: mint(Kind.BODY, rng.randrange) for state in them.values()}

    def next_prints(states: list[State], form: str, own: bool) -> dict[int, NextPrint]:
        return {state.id: NextPrint(state.serial, 1, codes[state.id]) for state in states}

    with (
        mock.patch.dict(forms.FIND, instrument=lambda names: {name: them[name] for name in names}),
        mock.patch.object(board, "next_prints", next_prints),
    ):
        pdf = press.proof("body_tag", list(them), NOW)
    return pdf, [tag_address(codes[state.id]) for state in them.values()]


def test_each_of_a_thousand_tags_is_read() -> None:
    pdf, held = tags(MANY)
    read = [[one.text for one in squares(side)] for side in pictures(pdf, DPI)]
    assert read == [[address] for address in held for _ in ("front", "back")]


@pytest.fixture(scope="module")
def symbols() -> dict[str, Image.Image]:
    """Squares cut out of printed tags, fine, by what they hold. Made on first use."""
    return {}


def papers(symbols: dict[str, Image.Image]) -> Iterator[tuple[str, Image.Image]]:
    if not symbols:
        pdf, held = tags(EACH)
        sides = pictures(pdf, 600)[::2]
        for address, side in zip(held, sides, strict=True):
            symbols[address] = _square_of(side)
    yield from symbols.items()


def _square_of(side: Image.Image) -> Image.Image:
    """The square of a printed side with its quiet zone, of ``FINE`` pixels a module."""
    (found,) = squares(side)
    at = found.position
    left, top = at.top_left.x, at.top_left.y
    right, bottom = at.bottom_right.x + 1, at.bottom_right.y + 1
    quiet = (right - left) * QUIET / (SIDE - 2 * QUIET)
    box = (left - quiet, top - quiet, right + quiet, bottom + quiet)
    return side.resize((SIDE * FINE,) * 2, Image.Resampling.LANCZOS, box=box)


def rate(symbols: dict[str, Image.Image], take: Any, px: float) -> float:
    rng = np.random.default_rng(SEED)
    read = [
        [found.text for found in squares(take(paper, rng, px))] == [address]
        for address, paper in papers(symbols)
    ]
    return sum(read) / len(read)


def test_damaged_tags_are_read_at_three_pixels_a_module(
    symbols: dict[str, Image.Image], capsys: pytest.CaptureFixture[str]
) -> None:
    """95 % of the whole set: the shop's own bar."""
    rates = {name: rate(symbols, take, CAMERA_PX) for name, take in DAMAGE.items()}
    with capsys.disabled():
        told = [f"  {name:20} {share:.0%}" for name, share in rates.items()]
        sys.stdout.write("\n".join(["", f"Read at 3 px a module, {EACH} tags each:", *told, ""]))
    assert sum(rates.values()) / len(rates) >= 0.95, rates


def test_with_twelve_percent_hidden_every_tag_is_read(symbols: dict[str, Image.Image]) -> None:
    """Level H recovers about 30 % of the codewords (ISO/IEC 18004); a patch spoils more of
    them than its own share. 100 % is the shop's own bar."""

    def take(paper: Image.Image, rng: np.random.Generator, px: float) -> Image.Image:
        return taken(hidden(0.12)(paper, rng), rng, px)

    assert rate(symbols, take, CAMERA_PX) == 1.0


def test_the_damage_is_damage(symbols: dict[str, Image.Image]) -> None:
    """With 40 % hidden, or a blur of two pixels, nothing is read: the set can fail."""

    def covered(paper: Image.Image, rng: np.random.Generator, px: float) -> Image.Image:
        return taken(hidden(0.4)(paper, rng), rng, px)

    def drowned(paper: Image.Image, rng: np.random.Generator, px: float) -> Image.Image:
        return taken(paper, rng, px, blur=2)

    assert rate(symbols, covered, CAMERA_PX) < 0.1
    assert rate(symbols, drowned, CAMERA_PX) < 0.1
