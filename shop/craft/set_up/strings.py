"""How hard strings pull: one string, a set, and a set against what its top bears.

A string of a known mass per length pulls by its length and its pitch alone. A plain steel
string's mass follows from its gauge; a wound one's does not, and is read off its packet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shop.craft.finding import Finding, note, stop, warn
from shop.craft.formula import Symbol, formula
from shop.craft.set_up.figures import above_zero, figure, judged
from shop.craft.words import THIN, listed

STEEL_KG_M3: Final = 7850.0  # carbon steel, a handbook figure, from memory
KG_M_OF_LB_IN: Final = 0.45359237 / 0.0254  # the pound and the inch, both exact
NEWTONS_OF_LB: Final = 4.4482216152605  # the pound-force, exact
# Plain strings of one set are drawn from one kind of wire: their weights, as told on the
# packet to four figures, give the same density to a thousandth. Derived from such tables.
ALIKE: Final = 0.001
# A unit weight that makes steel a twentieth lighter or heavier was typed wrong; common
# practice, no source.
NO_STEEL: Final = 0.05
# From here on a steel string is wound, and below it is plain; common practice, no source.
WOUND_FROM_MM: Final = 0.51
NYLON_WOUND: Final = 4  # strings from this number on are wound

CAUTION: Final = (
    "Strings under tension whip: eye protection, face clear. Slacken every string before it is cut."
)


@formula(
    "string-tension",
    "Tension of a string",
    "T = μ · (2 · L · f)²",
    Symbol("μ", "weight_kg_m", "mass per length", "kg/m"),
    Symbol("L", "scale_mm", "scale length, put in as metres", "mm"),
    Symbol("f", "pitch_hz", "frequency of the note", "Hz"),
    Symbol("T", "", "tension", "N"),
    source="Mersenne's law of the stretched string",
    given={"weight_kg_m": 3.9556e-4, "scale_mm": 647.7, "pitch_hz": 329.63},
)
def tension(weight_kg_m: float, scale_mm: float, pitch_hz: float) -> float:
    """The tension in newtons.

    >>> round(tension(3.9556e-4, 647.7, 329.63), 1)
    72.1
    """
    above_zero(weight_kg_m=weight_kg_m, scale_mm=scale_mm, pitch_hz=pitch_hz)
    return weight_kg_m * (2 * scale_mm / 1000 * pitch_hz) ** 2


@formula(
    "string-tension-lb",
    "Tension of a string in pounds",
    "T = UW · (2 · L · f)²/386.4",
    Symbol("UW", "weight_lb_in", "unit weight", "lb/in"),
    Symbol("L", "scale_in", "scale length", "in"),
    Symbol("f", "pitch_hz", "frequency of the note", "Hz"),
    Symbol("T", "", "tension", "lb"),
    source="calculatorlib.com, guitar string tension; 386.4 in/s² is rounded from 386.09",
    given={"weight_lb_in": 0.00002215, "scale_in": 25.5, "pitch_hz": 329.63},
    places=1,
)
def tension_lb(weight_lb_in: float, scale_in: float, pitch_hz: float) -> float:
    """The same law as string tables print it, in pounds.

    >>> round(tension_lb(0.00002215, 25.5, 329.63), 1)
    16.2
    """
    above_zero(weight_lb_in=weight_lb_in, scale_in=scale_in, pitch_hz=pitch_hz)
    return weight_lb_in * (2 * scale_in * pitch_hz) ** 2 / 386.4


@formula(
    "plain-weight",
    "Mass per length of a plain string",
    "μ = \u03c1 · π · d²/4",
    Symbol("\u03c1", "density_kg_m3", "density of its steel", "kg/m³"),
    Symbol("d", "diameter_mm", "diameter, put in as metres", "mm"),
    Symbol("μ", "", "mass per length", "kg/m"),
    source="geometry; 7850 kg/m³ is a handbook figure for carbon steel, from memory",
    given={"diameter_mm": 0.305, "density_kg_m3": STEEL_KG_M3},
    places=7,
)
def plain_weight(diameter_mm: float, density_kg_m3: float = STEEL_KG_M3) -> float:
    """The mass per length of a round wire.

    >>> round(plain_weight(0.305) * 1e4, 3)
    5.735
    """
    above_zero(diameter_mm=diameter_mm, density_kg_m3=density_kg_m3)
    return density_kg_m3 * math.pi * (diameter_mm / 1000) ** 2 / 4


def is_wound(name: str, material: str, diameter_mm: float | None) -> bool:
    """Whether a string is wound: a nylon one by its number, a steel one by its diameter, or
    where that is not known by its number.

    >>> is_wound("3", "steel", 0.61), is_wound("3o", "steel", 0.2), is_wound("3", "nylon", 1.0)
    (True, False, False)
    """
    number = int("".join(one for one in name if one.isdigit()))
    if material != "steel":
        return number >= NYLON_WOUND
    return number >= 3 and "o" not in name if diameter_mm is None else diameter_mm >= WOUND_FROM_MM


def metric(weight_lb_in: float) -> float:
    """A unit weight in pounds per inch as kilograms per metre.

    >>> round(metric(0.00002215) * 1e4, 4)
    3.9555
    """
    return weight_lb_in * KG_M_OF_LB_IN


@dataclass(frozen=True, slots=True)
class Wire:
    """One string of a set: "6" to "1", "6o" or "1'" in a pair, tuned to ``pitch_hz``.

    ``weight_kg_m`` is told on the packet; where it is not, a plain string's follows from its
    gauge. A wound string without it, or one that is no steel, gives no tension.
    """

    name: str
    pitch_hz: float
    diameter_mm: float | None = None
    weight_kg_m: float | None = None
    wound: bool = False
    material: str = "steel"

    @property
    def plain_steel(self) -> bool:
        return self.material == "steel" and not self.wound

    @property
    def weight(self) -> float | None:
        """Its mass per length in kg/m, if it can be known."""
        if self.weight_kg_m is not None:
            return self.weight_kg_m
        if not self.plain_steel or self.diameter_mm is None:
            return None
        return plain_weight(self.diameter_mm)

    @property
    def density_kg_m3(self) -> float | None:
        """The density that a plain string's told weight and gauge make of its steel."""
        if not self.plain_steel or self.diameter_mm is None or self.weight_kg_m is None:
            return None
        return self.weight_kg_m / plain_weight(self.diameter_mm, 1.0)


@dataclass(frozen=True, slots=True)
class Pull:
    """The tension of one string, and how it was worked out."""

    string: str
    tension_n: float
    arithmetic: str

    @property
    def tension_lb(self) -> float:
        return self.tension_n / NEWTONS_OF_LB


@dataclass(frozen=True, slots=True)
class SetPull:
    """The tension of a set.

    ``missing`` names the strings whose weight is not known: ``total_n`` is without them, so
    it is then only a least. ``limit_n`` is what the top bears by its spec, if one is told.
    """

    pulls: tuple[Pull, ...]
    missing: tuple[str, ...]
    total_n: float
    limit_n: float | None
    arithmetic: str
    findings: tuple[Finding, ...]
    caution: str = CAUTION

    @property
    def total_lb(self) -> float:
        return self.total_n / NEWTONS_OF_LB


def set_pull(wires: Sequence[Wire], scale_mm: float, limit_n: float | None = None) -> SetPull:
    """What these strings pull together at this scale."""
    pulls = tuple(_pull(one, weight, scale_mm) for one in wires if (weight := one.weight))
    missing = tuple(one.name for one in wires if one.weight is None)
    total = sum(one.tension_n for one in pulls)
    parts = " + ".join(figure(one.tension_n, 1) for one in pulls)
    return SetPull(
        pulls,
        missing,
        total,
        limit_n,
        f"{parts} = {newtons(total)}" if pulls else "",
        (*_limited(total, limit_n, missing), *_unknown(missing), *_weights(wires)),
    )


def _pull(wire: Wire, weight_kg_m: float, scale_mm: float) -> Pull:
    force = tension(weight_kg_m, scale_mm, wire.pitch_hz)
    grams = figure(weight_kg_m * 1000, 4)
    said = (
        f"{grams}/1000 × (2 × {figure(scale_mm / 1000, 4)} × {figure(wire.pitch_hz)})² "
        f"= {newtons(force)}"
    )
    return Pull(wire.name, force, said)


def _limited(total_n: float, limit_n: float | None, missing: Sequence[str]) -> Iterator[Finding]:
    if limit_n is None or judged(total_n) <= limit_n:
        return
    pulled, most = newtons(total_n), newtons(limit_n)
    yield stop(
        "tension",
        f"The set pulls at least {pulled}; this top is limited to {most}."
        if missing
        else f"The set pulls {pulled}; this top is limited to {most}.",
        "Choose a lighter set, or tune lower.",
    )


def _unknown(missing: Sequence[str]) -> Iterator[Finding]:
    if missing:
        yield warn(
            "tension",
            f"Only of plain steel does the gauge tell the weight. Without weight: "
            f"{listed(list(missing))}. The sum is without them.",
            "Enter their weight per length as the packet tells it.",
        )


def _weights(wires: Sequence[Wire]) -> Iterator[Finding]:
    """What the told weights of the plain strings make of their steel."""
    told = [(one.name, dense) for one in wires if (dense := one.density_kg_m3) is not None]
    for name, dense in told:
        if abs(dense / STEEL_KG_M3 - 1) > NO_STEEL:
            yield warn(
                "string weight",
                f"String {name}: this weight and gauge make {figure(dense, 0)}{THIN}kg/m³, "
                f"steel is about {figure(STEEL_KG_M3, 0)}{THIN}kg/m³.",
                "Read gauge and weight off the packet again.",
            )
            return
    dense_s = [dense for _, dense in told]
    if told and max(dense_s) / min(dense_s) - 1 > ALIKE:
        said = listed([f"string {name} {figure(dense, 0)}{THIN}kg/m³" for name, dense in told])
        yield note(
            "string weight",
            f"The weights of the plain strings do not agree: {said}.",
            "One may be misprinted; the tension follows it.",
        )


def newtons(force_n: float) -> str:
    """A force with its unit, to a tenth.

    >>> newtons(72.122).replace(THIN, " ")
    '72.1 N'
    """
    return f"{figure(force_n, 1)}{THIN}N"
