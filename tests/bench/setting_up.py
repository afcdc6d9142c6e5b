"""How long the plans of set-up take, over boards drawn by chance.

    python -m tests.bench.setting_up

Plain Python, no server and no database. Times are of the processor, so that whatever else
the machine does counts little. It prints them and asserts nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import time
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from random import Random
from statistics import median

from shop.craft.set_up import buzz
from shop.craft.set_up.frets import Board, FretReadings, advise, plan

ROUNDS = 300
FRETS, LINES = 22, 6
BOARD = Board(scale_mm=645.0, fall_off_mm=0.15)


def main() -> None:
    print(f"{FRETS} frets, {LINES} lines, {ROUNDS} boards drawn by chance, of the processor")
    chance = Random(1)
    rough = [board(chance, lows=0) for _ in range(ROUNDS)]
    spoilt = [board(chance, lows=1 + turn % 3) for turn in range(ROUNDS)]
    told("the first, loads the solver", [partial(plan, rough[0], BOARD)])
    told("fret plan alone", [partial(plan, one, BOARD) for one in rough])
    told("with suspects, none low", [partial(advise, one, BOARD) for one in rough])
    told("with suspects, 1 to 3 low", [partial(advise, one, BOARD) for one in spoilt])
    told("map of buzz", [partial(buzz.buzz, strung(chance)) for _ in range(ROUNDS)])


def board(chance: Random, lows: int) -> FretReadings:
    """Heights about 1.10 mm, of which some frets lie 0.2 mm low."""
    low = set(chance.sample(range(1, FRETS + 1), lows))
    return FretReadings(
        tuple(
            tuple(
                Decimal(f"{chance.gauss(1.1 - 0.2 * (fret in low), 0.02):.2f}")
                for fret in range(1, FRETS + 1)
            )
            for _ in range(LINES)
        )
    )


def strung(chance: Random) -> buzz.Board:
    """A strung board whose frets are a few hundredths out."""
    return buzz.Board(
        scale_mm=645.0,
        action_mm=tuple(2.4 - 0.16 * one + chance.uniform(-0.3, 0.3) for one in range(LINES)),
        floor_mm=tuple(chance.uniform(0.1, 0.3) for _ in range(LINES)),
        amplitude_mm=buzz.Playing.NORMAL.amplitudes(LINES),
        relief_mm=chance.uniform(0.0, 0.3),
        fret_off_mm=tuple(chance.gauss(0, 0.03) for _ in range(FRETS)),
    )


def told(what: str, asks: list[Callable[[], object]]) -> None:
    """One line: the median and the most of these, in milliseconds."""
    times = []
    for ask in asks:
        start = time.process_time()
        ask()
        times.append((time.process_time() - start) * 1e3)
    print(f"{what:32}{median(times):>8.2f} ms median{max(times):>9.2f} ms most")


if __name__ == "__main__":
    main()
