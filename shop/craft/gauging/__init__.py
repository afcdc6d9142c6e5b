"""What is measured at the bench, where on the guitar, and which values can be believed.

A value comes typed on the keypad, or typed by a gauge that sends its reading as keys, with
a decimal comma or point and perhaps its unit. One that no guitar can have is refused with
the range that can be; one far from what the spec or its neighbours say is asked again.
"""

from shop.craft.gauging.entering import (
    KEPT,
    NotANumber,
    Problem,
    Spot,
    Taken,
    answering,
    asked,
    bare_number,
    beside,
    missing,
    number,
    said,
    take,
    where,
    whole,
)
from shop.craft.gauging.quantities import QUANTITIES
from shop.craft.gauging.quantity import Place, Quantity

__all__ = [
    "KEPT",
    "QUANTITIES",
    "NotANumber",
    "Place",
    "Problem",
    "Quantity",
    "Spot",
    "Taken",
    "answering",
    "asked",
    "bare_number",
    "beside",
    "missing",
    "number",
    "said",
    "take",
    "where",
    "whole",
]
