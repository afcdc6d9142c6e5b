"""The page that shows by how much a printer prints beside its mark."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.utils.translation import gettext as _

from shop.craft.imposing import Format

MARK_MM: Final = Decimal(20)  # both lines lie this far from the edges of the paper
_END_MM: Final = 10  # from the edge of the paper: where lines and rules begin and end
_RULE_MM: Final = 12  # likewise: where the rules lie
_ARM_MM: Final = 5  # of a cross
_LABEL_MM: Final = 1.2  # between a rule and its figures


def calibration(sheet: Format) -> dict[str, Any]:
    """The lines, crosses and rules of one side, in mm from the upper left of the paper, and
    how far the crosses are from each other."""
    wide, high = sheet.width_mm, sheet.height_mm
    near = float(MARK_MM)
    crosses = [(wide - near, near), (near, high - near), (wide - near, high - near)]
    return {
        "box": f"0 0 {wide:g} {high:g}",
        "mark": f"{MARK_MM:.1f}",
        "across": f"{wide - 2 * near:.1f}",
        "down": f"{high - 2 * near:.1f}",
        "lines": " ".join(
            (
                f"M{near:g} {_END_MM}V{high - _END_MM:.2f}",
                f"M{_END_MM} {near:g}H{wide - _END_MM:.2f}",
                *(_cross(x, y) for x, y in [*crosses, (wide / 2, high - near)]),
            )
        ),
        "ticks": " ".join((*_level_rule(sheet), *_upright_rule(sheet))),
        "labels": [*_labels(sheet)],
    }


def _cross(x: float, y: float) -> str:
    return f"M{x - _ARM_MM:.2f} {y:.2f}h{2 * _ARM_MM}M{x:.2f} {y - _ARM_MM:.2f}v{2 * _ARM_MM}"


def _level_rule(sheet: Format) -> Iterator[str]:
    base = sheet.height_mm - _RULE_MM
    yield f"M{_END_MM} {base:.2f}H{sheet.width_mm - _END_MM:.2f}"
    for at in range(_END_MM, int(sheet.width_mm) - _END_MM + 1):
        yield f"M{at} {base:.2f}v{_tick(at):g}"


def _upright_rule(sheet: Format) -> Iterator[str]:
    base = sheet.width_mm - _RULE_MM
    yield f"M{base:.2f} {_END_MM}V{sheet.height_mm - _END_MM:.2f}"
    for at in range(_END_MM, int(sheet.height_mm) - _END_MM + 1):
        yield f"M{base:.2f} {at}h{_tick(at):g}"


def _tick(at: int) -> float:
    """How long the mark of a millimetre is: tens and fives stand out."""
    return 4 if at % 10 == 0 else 3 if at % 5 == 0 else 2


@dataclass(frozen=True, slots=True)
class Label:
    """A figure beside a rule; ``anchor``: which end of it lies at the point."""

    x: str
    y: str
    anchor: str
    words: str


def _labels(sheet: Format) -> Iterator[Label]:
    """Every second ten, so that the figures have room; none where rules and lines meet."""
    base = sheet.height_mm - _RULE_MM - _LABEL_MM
    for at in range(40, int(sheet.width_mm) - 2 * _RULE_MM, 20):
        yield Label(f"{at}", f"{base:.2f}", "middle", f"{at}")
    base = sheet.width_mm - _RULE_MM - _LABEL_MM
    for at in range(40, int(sheet.height_mm) - 2 * _RULE_MM, 20):
        yield Label(f"{base:.2f}", f"{at + 1.25:.2f}", "end", f"{at}")


def moved(right_mm: Decimal, down_mm: Decimal) -> str:
    """By how much one side of the paper is printed beside where it would be otherwise.

    >>> moved(Decimal("0.4"), Decimal("-0.5"))
    'moved 0.4 mm to the right, 0.5 mm up'
    """
    parts = []
    if right_mm:
        way = _("%(mm)s mm to the right") if right_mm > 0 else _("%(mm)s mm to the left")
        parts.append(way % {"mm": f"{abs(right_mm):.1f}"})
    if down_mm:
        way = _("%(mm)s mm down") if down_mm > 0 else _("%(mm)s mm up")
        parts.append(way % {"mm": f"{abs(down_mm):.1f}"})
    return _("moved %(way)s") % {"way": ", ".join(parts)} if parts else _("not moved")
