"""How long the fit rules take: a whole kit at the bench, and every set against every spec.

    python -m tests.bench.fit

Plain Python, no server and no database. Times are of the processor, so that whatever else
the machine does counts little. It prints them and asserts nothing.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal
from statistics import median

from shop.craft import fit
from shop.craft.finding import any_stop
from shop.craft.hardware import Call, SpecFacts, TrayFacts, TunerSet
from shop.craft.reading import Reading, Readings
from shop.craft.size import Tolerance
from tests.craft.bench import ARTICLES, KITS, SPECS, call, tray

ROUNDS = 1000
SETS, SPECIFICATIONS = 500, 200
HUNDREDTH = Decimal("0.01")
WRONG = {
    "TARN": ("T01", "T05"),
    "HOLM": ("T06", "T14"),
    "NESS": ("T11", "T12"),
    "FIRTH": ("T13", "T01"),
    "WOLD": ("T15", "T14"),
    "SKERRY": ("T07", "T08"),
    "FELL": ("T09", "T10"),
    "VOE": ("T12", "T11"),
}
WITHIN = Tolerance(-HUNDREDTH, HUNDREDTH)


def main() -> None:
    kits()
    print()
    matrix()


def kits() -> None:
    """The check of a scanned tray: the usual kit, a wrong one, and the usual one measured."""
    print(f"A whole kit, median of {ROUNDS}")
    print(f"{'':8}{'clean':>12}{'wrong':>12}{'measured':>12}{'findings of the wrong':>24}")
    for spec in KITS:
        usual, guitar = tray(spec), call(spec)
        swapped = tray(spec, WRONG[spec])
        gauged = replace(guitar, readings=readings(guitar.spec))
        times = [micros(guitar, usual), micros(guitar, swapped), micros(gauged, usual)]
        shown = "".join(f"{one:>9.0f} µs" for one in times)
        print(f"{spec:8}{shown}{len(fit.check(guitar, swapped)):>24}")


def matrix() -> None:
    """Which set goes on which spec: every cell asked once."""
    sets = [varied_set(turn) for turn in range(SETS)]
    specs = [varied_spec(turn) for turn in range(SPECIFICATIONS)]
    cells: list[float] = []
    clean = stopped = 0
    began = time.process_time()
    for spec in specs:
        for one in sets:
            start = time.process_time()
            findings = fit.article(spec, one)
            cells.append(time.process_time() - start)
            clean += not findings
            stopped += any_stop(findings)
    took = time.process_time() - began
    ordered = sorted(cells)
    print(f"{SETS} sets × {SPECIFICATIONS} specs: {len(cells)} cells in {took:.2f} s")
    print(f"a cell: mean {took / len(cells) * 1e6:.1f} µs, median {median(ordered) * 1e6:.1f} µs,")
    print(f"        99 of 100 within {ordered[len(ordered) * 99 // 100] * 1e6:.1f} µs")
    print(
        f"{clean} clean, {stopped} stopped, {len(cells) - clean - stopped} with a warning or note"
    )


def micros(guitar: Call, lies: TrayFacts) -> float:
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        fit.check(guitar, lies)
        times.append(time.process_time() - start)
    return median(times) * 1e6


def readings(spec: SpecFacts) -> Readings:
    """What is gauged on a head, every string and place, as its spec says."""
    hole = spec.bushing_hole_mm or spec.post_hole_mm
    return Readings(
        (
            *(Reading("peghead", one, spec.peghead_mm) for one in ("tip", "middle", "nut")),
            *(Reading("hole", f"{one}", hole) for one in range(spec.strings, 0, -1)),
            Reading("pilot", "bit", Decimal("1.6")),
            Reading("worm", "L", Decimal(1)),
            Reading("worm", "R", Decimal(1)),
        )
    )


def varied_set(turn: int) -> TunerSet:
    """The sets of the bench by turns, each a little other, every third with tolerances."""
    bases = [one for one in ARTICLES.values() if isinstance(one, TunerSet)]
    base = bases[turn % len(bases)]
    by = turn // len(bases) % 9 * HUNDREDTH
    outside = base.bushing_od_mm
    within = (("bushing_od_mm", WITHIN), ("post_mm", WITHIN)) if turn % 3 == 0 else ()
    return replace(
        base,
        key=f"M{turn:03}",
        bushing_od_mm=None if outside is None else outside - by,
        post_mm=base.post_mm + by,
        button_width_mm=base.button_width_mm + turn % 5,
        tolerances=within if outside is not None else (),
    )


def varied_spec(turn: int) -> SpecFacts:
    """The specs of the bench by turns, each a little other, every third with tolerances."""
    bases = list(SPECS.values())
    base = bases[turn % len(bases)]
    by = turn // len(bases) % 5 * HUNDREDTH
    within = (("post_hole_mm", WITHIN), ("peghead_mm", WITHIN)) if turn % 3 == 0 else ()
    return replace(
        base,
        key=f"W{turn:03}",
        peghead_mm=base.peghead_mm + 10 * by,
        pitch_mm=base.pitch_mm - by,
        tolerances=within,
    )


if __name__ == "__main__":
    main()
