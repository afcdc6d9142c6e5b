"""A round taper: a bridge pin, an end pin, or the hole reamed for one."""

from __future__ import annotations

from decimal import Decimal
from math import radians, tan

KEPT = Decimal("0.0001")  # millimetres; finer than any gauge on the bench


def diameter_at(top_mm: Decimal, taper_deg: Decimal, depth_mm: Decimal) -> Decimal:
    """How wide a taper is ``depth_mm`` below the place where it is ``top_mm`` wide.

    ``taper_deg`` is the included angle: the one between two opposite sides. Each side leans
    half of it towards the axis, so over a depth z the diameter loses 2 · z · tan(taper / 2).
    The result is in millimetres, to 0.0001; it is negative below the cone's point.

    >>> diameter_at(Decimal("5.40"), Decimal(3), Decimal(20))
    Decimal('4.3526')
    """
    lost = 2 * float(depth_mm) * tan(radians(float(taper_deg) / 2))
    return (top_mm - Decimal(lost)).quantize(KEPT)
