"""How many small parts are in a bag, by its weight, and whether that can be believed.

The count is n = (gross - bag) / unit. Its standard uncertainty adds in quadrature what each
input brings, as JCGM 100:2008 (GUM) has it for inputs that do not hang on each other (5.1.2):
the steps of the scale, once with the bag full and once with it empty, each reading lying
anywhere within half a step (4.3.7, half a step over the root of 3); the unit weight, a mean
over so many pieces; and that the pieces in the bag differ among themselves. It is told with a
coverage factor of 2, which holds the true count about 95 times in 100.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from shop.craft.size import plain
from shop.craft.words import THIN, several

COVERAGE: Final = 2  # standard uncertainties
HALF: Final = Decimal("0.5")
# A weight this far from any whole number of pieces is not of these pieces alone, however
# well it was weighed. In pieces; common practice.
STRAY: Final = Decimal("0.25")
RESOLUTION_G: Final = Decimal("0.01")  # of a pocket scale
UNIT_PIECES: Final = 20  # weighed together for the weight of one; common practice
SHOWN: Final = Decimal("0.01")  # of a piece


class NoCount(ValueError):
    """These weights give no count; the message says which one and what to do."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """What a bag's weight says: ``count`` whole pieces, out of ``value`` ± ``uncertainty``.

    ``doubtful``: the count is not to be taken without looking; ``words`` say why.
    """

    count: int
    value: Decimal
    uncertainty: Decimal
    doubtful: bool
    words: str


def count(
    gross_g: Decimal,
    bag_g: Decimal,
    unit_g: Decimal,
    unit_sd_g: Decimal,
    resolution_g: Decimal = RESOLUTION_G,
    unit_pieces: int = UNIT_PIECES,
) -> Weighed:
    """The pieces in a bag that weighs ``gross_g`` full and ``bag_g`` empty, all in gram.

    ``unit_g`` is the mean weight of one, taken from ``unit_pieces`` of them, and ``unit_sd_g``
    how far single pieces stray from it (standard deviation); ``resolution_g`` is the step of
    the scale.

    >>> one = count(Decimal("4.69"), Decimal("1.20"), Decimal("0.25"), Decimal("0.004"))
    >>> one.count, one.doubtful, one.words.replace(THIN, " ")
    (14, False, '14 pieces (13.96 ± 0.16).')

    Raises ``NoCount`` where no such bag can be.
    """
    _possible(gross_g, bag_g, unit_g, unit_sd_g, resolution_g, unit_pieces)
    value = (gross_g - bag_g) / unit_g
    reading = resolution_g**2 / 12  # the variance of one reading
    of_unit = (value * unit_sd_g) ** 2 / unit_pieces
    among = value * unit_sd_g**2
    uncertainty = COVERAGE * (2 * reading + of_unit + among).sqrt() / unit_g
    whole = _whole(value)
    off = abs(value - whole)
    unsure = off + uncertainty > HALF
    stray = off > STRAY
    return Weighed(
        count=whole,
        value=value,
        uncertainty=uncertainty,
        doubtful=unsure or stray,
        words=_words(value, uncertainty, unit_g, unsure=unsure, stray=stray),
    )


def _possible(
    gross_g: Decimal,
    bag_g: Decimal,
    unit_g: Decimal,
    unit_sd_g: Decimal,
    resolution_g: Decimal,
    unit_pieces: int,
) -> None:
    if not all(one.is_finite() for one in (gross_g, bag_g, unit_g, unit_sd_g, resolution_g)):
        raise NoCount("One of the weights is no number. Read the scale again.")
    if bag_g < 0:
        raise NoCount(f"An empty bag of {_gram(bag_g)} cannot be. Set the scale to zero again.")
    if gross_g < bag_g:
        raise NoCount(
            f"{_gram(gross_g)} is less than the empty bag, {_gram(bag_g)}. "
            "Set the scale to zero and weigh again."
        )
    if unit_g <= 0 or unit_sd_g < 0 or unit_pieces < 1:
        raise NoCount(
            f"One piece of {_gram(unit_g)} ± {_gram(unit_sd_g)}, out of {unit_pieces}, cannot be. "
            f"Weigh {UNIT_PIECES} pieces and keep the weight of one."
        )
    if resolution_g <= 0:
        raise NoCount(f"No scale has steps of {_gram(resolution_g)}. Read them off its plate.")


def _words(
    value: Decimal, uncertainty: Decimal, unit_g: Decimal, *, unsure: bool, stray: bool
) -> str:
    said = f"{value.quantize(SHOWN)} ± {uncertainty.quantize(SHOWN)}"
    whole = _whole(value)
    if stray and not unsure:
        over = (value - whole) * unit_g
        more = "more" if over > 0 else "less"
        return (
            f"{said} pieces: {_gram(abs(over).quantize(SHOWN))} {more} than {whole} weigh. "
            "Look for what does not belong, then count."
        )
    if unsure:
        least, most = max(_whole(value - uncertainty), 0), _whole(value + uncertainty)
        return f"{said} pieces: it may be {least} to {most}. Count them."
    return f"{several(whole, 'piece')} ({said})."


def _whole(value: Decimal) -> int:
    return int(value.quantize(Decimal(1), ROUND_HALF_UP))


def _gram(weight_g: Decimal) -> str:
    return f"{plain(weight_g)}{THIN}g"
