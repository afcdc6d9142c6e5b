"""What is usually found where: six words first, and the drawing first, by area and by station.

A thumb learns where a word lies, so that the six of a place stay the same ones in the same
order whatever was found last. All common practice, no source.
"""

from __future__ import annotations

from typing import Final

from shop.craft.inspecting.defects import MEANINGS, Meaning

_AREAS: Final[dict[int, tuple[tuple[str, str], ...]]] = {
    1: (
        ("finish", "chip"), ("finish", "craze at bushing"), ("finish", "scratch"),
        ("hardware", "cocked"), ("hardware", "loose"), ("setup", "wrong order"),
    ),
    2: (
        ("hardware", "cocked"), ("hardware", "loose"), ("hardware", "stripped"),
        ("hardware", "missing"), ("finish", "scratch"), ("finish", "chip"),
    ),
    3: (
        ("setup", "low slot"), ("setup", "bind at slot"), ("setup", "ping"),
        ("joint", "gap"), ("joint", "squeeze-out"), ("setup", "back buzz"),
    ),
    4: (
        ("fret", "sharp end"), ("fret", "high"), ("fret", "sprung end"),
        ("fret", "tool mark"), ("fret", "flat crown"), ("joint", "squeeze-out"),
    ),
    5: (
        ("finish", "dent"), ("finish", "scratch"), ("finish", "witness line"),
        ("wood", "bow"), ("wood", "back-bow"), ("wood", "twist"),
    ),
    6: (
        ("joint", "gap"), ("joint", "step"), ("joint", "squeeze-out"),
        ("finish", "chip"), ("hardware", "loose"), ("wood", "crack"),
    ),
    7: (
        ("finish", "scratch"), ("finish", "dent"), ("finish", "dust nib"),
        ("finish", "sink"), ("finish", "swirl"), ("wood", "crack"),
    ),
    8: (
        ("joint", "lift"), ("joint", "gap"), ("joint", "squeeze-out"),
        ("hardware", "wrong item"), ("hardware", "cocked"), ("finish", "scratch"),
    ),
    9: (
        ("joint", "gap"), ("finish", "scratch"), ("finish", "swirl"),
        ("finish", "burn-through"), ("finish", "dust nib"), ("finish", "dent"),
    ),
    10: (
        ("finish", "scratch"), ("finish", "dent"), ("finish", "swirl"),
        ("finish", "dust nib"), ("finish", "sink"), ("finish", "run"),
    ),
    11: (
        ("joint", "loose brace"), ("joint", "squeeze-out"), ("hardware", "loose"),
        ("paper", "wrong label"), ("finish", "overspray"), ("wood", "crack"),
    ),
    12: (
        ("electric", "dead string"), ("electric", "weak string"), ("electric", "hum"),
        ("electric", "crackle"), ("electric", "no output"), ("electric", "battery missing"),
    ),
    13: (
        ("setup", "buzz"), ("setup", "dead note"), ("setup", "rattle"),
        ("setup", "fret-out"), ("setup", "back buzz"), ("setup", "wolf"),
    ),
    14: (
        ("setup", "high action"), ("setup", "low action"), ("setup", "low slot"),
        ("setup", "octave sharp"), ("setup", "octave flat"), ("wood", "bow"),
    ),
    15: (
        ("paper", "missing"), ("paper", "wrong serial"), ("paper", "wrong label"),
        ("hardware", "missing"), ("hardware", "wrong item"), ("hardware", "loose"),
    ),
    16: (
        ("finish", "scratch"), ("finish", "swirl"), ("finish", "haze"),
        ("finish", "dust nib"), ("wood", "stain blotch"), ("hardware", "mismatch"),
    ),
}  # fmt: skip
"""By the number of the checklist's area."""

_STATIONS: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    # At the second look: what the days in the case bring about.
    "R": (
        ("joint", "lift"), ("finish", "print"), ("finish", "sink"),
        ("setup", "buzz"), ("setup", "high action"), ("hardware", "loose"),
    ),
    "Q": (
        ("finish", "swirl"), ("finish", "haze"), ("finish", "scratch"),
        ("finish", "witness line"), ("finish", "burn-through"), ("finish", "dust nib"),
    ),
    "Z": (
        ("paper", "missing"), ("paper", "wrong serial"), ("paper", "wrong label"),
        ("finish", "scratch"), ("finish", "print"), ("hardware", "missing"),
    ),
}  # fmt: skip
"""By the code of a station that finds other things than most."""

_ANYWHERE: Final = (
    ("finish", "scratch"), ("finish", "dust nib"), ("finish", "chip"),
    ("setup", "buzz"), ("fret", "sharp end"), ("joint", "gap"),
)  # fmt: skip

_VIEWS: Final[dict[int, str]] = {
    1: "head front", 2: "head back", 3: "head front", 5: "back", 6: "back",
    9: "bass side", 10: "back", 11: "inside", 15: "case",
}  # fmt: skip
"""The drawing on which one taps first, by area; on the front of it else."""


def usual(area: int = 0, station: str = "") -> tuple[Meaning, ...]:
    """The six words offered first: those of the area one looks at, else of the station.

    >>> [one.word for one in usual(area=13)][:2], usual(station="R")[0].word
    (['buzz', 'dead note'], 'lift')
    """
    keys = _AREAS.get(area) or _STATIONS.get(station) or _ANYWHERE
    return tuple(MEANINGS[key] for key in keys)


def first_view(area: int = 0, family: str = "") -> str:
    """The drawing to begin with, by the area one looks at; a paper is looked at as one.

    >>> first_view(10), first_view(10, "paper"), first_view()
    ('back', 'paper', 'front')
    """
    return "paper" if family == "paper" else _VIEWS.get(area, "front")
