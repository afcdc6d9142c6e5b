"""The surface that takes the least metal: under every reading, and as high as it can be.

Along line s the tops of the frets are to stand at t = a[s] + b[s]·x - y(x). One linear programme
over all lines finds a and b. With h the height read at x on line s, and g = h + y:

    the greatest   Σ (a[s] + b[s]·x)            over all that was read,
    so that        a[s] + b[s]·x ≤ g            at each of it: nothing is filed up,
                   |a[s] - a[s+1]| ≤ 0.02 mm    line by line: the radius stays true.

Σ (g - t) is what comes off, so the greatest sum of t is the least metal. The lines cannot be
solved one by one, for what holds two of them together at the nut holds them all.

It is solved with HiGHS (Huangfu and Hall 2018), as SciPy carries it: an open solver, kept by
others and tried on far harder programmes than these, whose dual simplex ends in a corner of what
is allowed, so that the surface rests on frets. Its presolve is left out: a programme so small
gains nothing by it. A call costs more than so small a programme does, so boards that are asked
about at once stand side by side in one programme, with nothing that holds them together.

More than one corner may be best. So that nothing hangs on the edge the lines are counted from, a
board and its mirror image are one programme: of the two, the one that is first in order is
solved, and read off backwards for the other. A board that is its own image gets the mean of the
solution and its image: both are best, what is allowed is convex, so the mean is best too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# How far the surface may differ at the nut from one line to the next; common practice.
APART_MM: Final = 0.02
_TOLERANCE: Final = 1e-10  # mm; the least HiGHS takes
_AT_NUT, _RISE, _CLEAN = 10, 13, 9  # decimals: finer than these is noise of the solver

Point = tuple[float, float]
"""Distance from the nut (above 0) and height, in millimetres."""

Lines = Sequence[Sequence[Point]]
"""The points of each line in order from the nut, the lines edge to edge."""


@dataclass(frozen=True, slots=True)
class Straight:
    """The straight the frets of one line come to: its height at the nut in millimetres, and its
    rise in millimetres a millimetre of scale. The fall-off is not in it."""

    at_nut_mm: float
    rise: float

    def height_mm(self, place_mm: float) -> float:
        return self.at_nut_mm + self.rise * place_mm


Surface = tuple[Straight | None, ...]
"""A straight for each line, edge to edge; ``None`` for a line of fewer than two points."""


def clean(value_mm: float) -> float:
    """A length worked out from a surface, without what the solver leaves of noise: to be taken
    before it is rounded or held against a limit.

    >>> clean(0.12499999999), clean(-1e-12)
    (0.125, 0.0)
    """
    return round(value_mm, _CLEAN) + 0.0


def highest(lines: Lines, apart_mm: float = APART_MM) -> Surface:
    """The straights under all points that stand highest in sum, one a line, edge to edge.

    A line of fewer than two points bounds no straight: it has none, and still lets its
    neighbours differ no more than twice ``apart_mm``.

    >>> level = [(100.0, 1.1), (200.0, 1.16), (300.0, 1.1)]
    >>> highest([level])
    (Straight(at_nut_mm=1.1, rise=0.0),)
    """
    return highest_each([lines], apart_mm)[0]


def highest_each(boards: Sequence[Lines], apart_mm: float = APART_MM) -> tuple[Surface, ...]:
    """The same for several boards at once, which is quicker than one after another."""
    asked = [[list(line) if len(line) > 1 else [] for line in lines] for lines in boards]
    ahead = [min(lines, lines[::-1]) for lines in asked]
    solved = [lines for lines in ahead if any(lines)]
    found = iter(_solved(solved, apart_mm) if solved else ())
    return tuple(
        _surface(lines, first, next(found)) if any(lines) else (None,) * len(lines)
        for lines, first in zip(asked, ahead, strict=True)
    )


def _surface(
    lines: Sequence[Sequence[Point]],
    solved: Sequence[Sequence[Point]],
    found: NDArray[np.float64],
) -> Surface:
    """The surface of a board from a and b, line by line, of what was solved for it."""
    image = found[::-1]
    if lines == lines[::-1]:
        found = (found + image) / 2
    elif lines != solved:
        found = image
    return tuple(
        Straight(round(a, _AT_NUT) + 0.0, round(b, _RISE) + 0.0) if line else None
        for line, (a, b) in zip(lines, found.tolist(), strict=True)
    )


def _solved(
    boards: Sequence[Sequence[Sequence[Point]]], apart_mm: float
) -> list[NDArray[np.float64]]:
    """For each board a in millimetres and b, one row a line.

    In the programme stand a of all lines, then b of all lines, b as what a line rises to the
    farthest fret: so all of it is of one size.
    """
    # Slow to import, and only wanted where a board is planned.
    import numpy as np
    from scipy.optimize import linprog

    lines = list(chain.from_iterable(boards))
    counts = [len(line) for line in lines]
    of_line = np.repeat(np.arange(len(lines)), counts)
    place, height = np.array(list(chain.from_iterable(lines))).T
    far = place.max()
    ends = np.cumsum([0, *map(len, boards)])
    beside = np.array([one for a, b in pairwise(ends) for one in range(a, b - 1)], dtype=int)

    under = np.zeros((len(place), 2 * len(lines)))
    row = np.arange(len(place))
    under[row, of_line] = 1.0
    under[row, len(lines) + of_line] = place / far
    true = np.zeros((len(beside), 2 * len(lines)))
    row = np.arange(len(beside))
    true[row, beside], true[row, beside + 1] = 1.0, -1.0

    found = linprog(
        -under.sum(axis=0),
        A_ub=np.concatenate([under, true, -true]),
        b_ub=np.concatenate([height, np.full(2 * len(beside), apart_mm)]),
        bounds=(None, None),
        method="highs-ds",
        options={
            "presolve": False,
            "primal_feasibility_tolerance": _TOLERANCE,
            "dual_feasibility_tolerance": _TOLERANCE,
        },
    )
    if found.x is None:  # a fault of the program: every board has a best surface
        raise ArithmeticError(found.message)
    both = np.column_stack([found.x[: len(lines)], found.x[len(lines) :] / far])
    return np.split(both, ends[1:-1])
