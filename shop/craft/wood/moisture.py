"""The moisture that wood comes to in air, and the air that keeps wood at a moisture.

One equation for all woods: a species differs from another by less than a room from one
hour to the next. A thin shaving comes to it within minutes, a whole part takes weeks.
"""

from __future__ import annotations

from typing import Final

from shop.craft.formula import Symbol, formula

HANDBOOK: Final = "Wood Handbook, Forest Products Laboratory, FPL-GTR-282 (2021), equation 4-5"

# Where the equation is asked for: colder and hotter than any room, inside what it was fitted to.
TEMP_C: Final = (-5.0, 60.0)

_HALVINGS: Final = 60


@formula(
    "wood-moisture",
    "Moisture of wood in the air of a room",
    "M = 1800/W · (K·h/(1 − K·h) + (K1·K·h + 2·K1·K2·K²·h²)/(1 + K1·K·h + K1·K2·K²·h²)), "
    "W = 349 + 1.29·T + 0.0135·T², K = 0.805 + 0.000736·T − 0.00000273·T², "
    "K1 = 6.27 − 0.00938·T − 0.000303·T², K2 = 1.91 + 0.0407·T − 0.000293·T², h = H/100",
    Symbol("T", "temp_c", "temperature of the air", "°C"),
    Symbol("H", "rh_pct", "relative humidity of the air", "%RH"),
    Symbol("M", "", "moisture of the wood, of its dry weight", "%"),
    source=HANDBOOK,
    given={"temp_c": 21.0, "rh_pct": 45.0},
)
def moisture_pct(temp_c: float, rh_pct: float) -> float:
    """The moisture that wood comes to, in per cent of its dry weight.

    Raises ``ValueError`` for air that no room has: see ``TEMP_C``; humidity 0 to 100.

    >>> round(moisture_pct(20.0, 50.0), 2)
    9.27
    """
    _check(temp_c)
    if not 0 <= rh_pct <= 100:
        raise ValueError(f"Humidity {rh_pct} %RH is not between 0 and 100.")
    t, h = temp_c, rh_pct / 100
    w = 349 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


@formula(
    "wood-humidity",
    "Air that keeps wood at a moisture",
    "H such that M(T, H) = M, found by halving between 0 and 100",
    Symbol("T", "temp_c", "temperature of the air", "°C"),
    Symbol("M", "wood_pct", "moisture of the wood, of its dry weight", "%"),
    Symbol("H", "", "relative humidity of the air", "%RH"),
    source=HANDBOOK,
    given={"temp_c": 20.0, "wood_pct": 8.0},
    places=1,
)
def humidity_pct(temp_c: float, wood_pct: float) -> float:
    """The relative humidity at which wood keeps this moisture; 100 where it is wetter than
    any air makes it.

    Raises ``ValueError`` for a temperature outside ``TEMP_C`` and for a moisture below 0.

    >>> round(humidity_pct(20.0, 12.0), 1)
    65.0
    """
    _check(temp_c)
    if wood_pct < 0:
        raise ValueError(f"Moisture {wood_pct} % is below 0.")
    least, most = 0.0, 100.0
    for _ in range(_HALVINGS):  # more air is always more moisture
        middle = (least + most) / 2
        if moisture_pct(temp_c, middle) < wood_pct:
            least = middle
        else:
            most = middle
    return (least + most) / 2


def _check(temp_c: float) -> None:
    least, most = TEMP_C
    if not least <= temp_c <= most:
        raise ValueError(f"{temp_c} °C is not between {least} and {most}.")
