"""What a shop does to a tag before a phone sees it, as seeded damage to its picture.

Damage to the paper (a patch, a smear) is done to a fine picture of it; what the camera adds
(the angle, blur, a dim light, noise) to the coarse one it takes. The strengths are ours; no
published set of damaged symbols was at hand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

FINE = 12  # px a module on paper
SIDE = 37  # modules with the quiet zone
QUIET = 4
WHITE = 255

Rng = np.random.Generator
Harm = Callable[[Image.Image, Rng], Image.Image]


def hidden(share: float) -> Harm:
    """A round patch of compound over a share of the symbol, anywhere but on the three finder
    patterns: with one of them gone no reader knows where to look."""

    def harm(paper: Image.Image, rng: Rng) -> Image.Image:
        modules = SIDE - 2 * QUIET
        radius = modules * float(np.sqrt(share / np.pi))
        middle = next(spot for spot in _spots(rng) if _clear_of_finders(*spot, radius, modules))
        harmed = paper.copy()
        x, y = ((QUIET + part) * FINE for part in middle)
        reach = radius * FINE
        ImageDraw.Draw(harmed).ellipse((x - reach, y - reach, x + reach, y + reach), fill=150)
        return harmed

    return harm


def _spots(rng: Rng) -> Iterator[tuple[float, float]]:
    while True:
        yield float(rng.uniform(7, 27)), float(rng.uniform(7, 27))


def _clear_of_finders(x: float, y: float, radius: float, modules: int) -> bool:
    """Whether a patch leaves the finder patterns, 7 modules wide (ISO/IEC 18004), alone."""
    corners = ((0, 0), (modules - 7, 0), (0, modules - 7))
    for left, top in corners:
        near_x, near_y = min(max(x, left), left + 7), min(max(y, top), top + 7)
        if (x - near_x) ** 2 + (y - near_y) ** 2 < radius**2:
            return False
    return True


def smeared(paper: Image.Image, rng: Rng) -> Image.Image:
    """Polish wiped across: streaks that lighten the black and grey the white."""
    streaks = Image.new("L", paper.size, 0)
    draw = ImageDraw.Draw(streaks)
    for _ in range(int(rng.integers(3, 8))):
        at, lean = rng.uniform(0, paper.height), rng.uniform(-0.3, 0.3) * paper.width
        line = (0, at, paper.width, at + lean)
        draw.line(line, fill=int(rng.integers(60, 130)), width=int(rng.integers(1, 3)) * FINE)
    streaks = streaks.filter(ImageFilter.GaussianBlur(FINE / 2))
    film = Image.new("L", paper.size, 170)
    return Image.composite(film, paper, streaks)


def taken(
    paper: Image.Image,
    rng: Rng,
    px: float,
    *,
    turn: float = 0,
    lean: float = 0,
    blur: float = 0,
    contrast: float = 1,
    noise: float = 0,
) -> Image.Image:
    """The picture a phone takes with so many pixels a module: turned by degrees, seen from
    the side (``lean``: how much shorter the far edge is), blurred by so many pixels, dim, and
    with noise of so many greys."""
    room = int(paper.width * 0.6)
    scene = Image.new("L", (paper.width + 2 * room,) * 2, WHITE)
    scene.paste(paper, (room, room))
    scene = scene.rotate(turn, Image.Resampling.BICUBIC, fillcolor=WHITE)
    if lean:
        scene = _leaning(scene, lean)
    size = round(scene.width * px / FINE)
    seen = scene.resize((size, size), Image.Resampling.BOX)
    if blur:
        seen = seen.filter(ImageFilter.GaussianBlur(blur))
    greys = np.asarray(seen, dtype=float)
    greys = 128 + (greys - 128) * contrast + rng.normal(0, noise, greys.shape)
    return Image.fromarray(np.clip(greys, 0, 255).astype(np.uint8))


def _leaning(scene: Image.Image, lean: float) -> Image.Image:
    """Seen from below: the upper edge is shorter by ``lean``."""
    width, height = scene.size
    cut = width * lean / 2
    seen = [(cut, 0), (width - cut, 0), (width, height), (0, height)]
    flat = [(0, 0), (width, 0), (width, height), (0, height)]
    rows, wanted = [], []
    for (x, y), (u, v) in zip(seen, flat, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        wanted += [u, v]
    bend = np.linalg.solve(np.array(rows), np.array(wanted))
    return scene.transform(
        scene.size,
        Image.Transform.PERSPECTIVE,
        tuple(bend),
        Image.Resampling.BICUBIC,
        fillcolor=WHITE,
    )


def _turned(rng: Rng) -> float:
    return float(rng.uniform(-45, 45))


Take = Callable[[Image.Image, Rng, float], Image.Image]

DAMAGE: Final[dict[str, Take]] = {
    "turned to 45°": lambda paper, rng, px: taken(paper, rng, px, turn=_turned(rng)),
    "blurred": lambda paper, rng, px: taken(paper, rng, px, blur=rng.uniform(0.3, 1.0)),
    "seen from the side": lambda paper, rng, px: taken(
        paper, rng, px, turn=float(rng.choice([0, 90, 180, 270])), lean=rng.uniform(0.05, 0.2)
    ),
    "noisy": lambda paper, rng, px: taken(paper, rng, px, noise=rng.uniform(10, 30)),
    "dim": lambda paper, rng, px: taken(paper, rng, px, contrast=rng.uniform(0.25, 0.6), noise=3),
    "smeared": lambda paper, rng, px: taken(smeared(paper, rng), rng, px, turn=_turned(rng)),
    "hidden to 15 %": lambda paper, rng, px: taken(
        hidden(rng.uniform(0.02, 0.15))(paper, rng), rng, px
    ),
    "all of a bad day": lambda paper, rng, px: taken(
        hidden(0.05)(smeared(paper, rng), rng),
        rng,
        px,
        turn=_turned(rng),
        blur=0.5,
        contrast=0.6,
        noise=8,
    ),
}
"""What may happen, each of a strength drawn anew."""
