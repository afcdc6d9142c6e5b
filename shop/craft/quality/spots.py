"""What may be put on a panel that inspectors are tried on, and where on it.

Only what a loose panel can show by itself: of the finish, of the wood, of a joint. A panel has
nine fields, so that a place is said the same way by everybody. Common practice, no source.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from shop.craft.rework import WORDS

FIELDS: Final = (
    "upper left", "upper middle", "upper right",
    "middle left", "middle", "middle right",
    "lower left", "lower middle", "lower right",
)  # fmt: skip
FAMILIES: Final = ("finish", "wood", "joint")
MOST_SPOTS: Final = 4  # on one panel; a panel with more is no question of eyes
MOST_PANELS: Final = 60  # of one set: an hour or two of looking
LEAST_PANELS: Final = 2


class Spot(NamedTuple):
    """A defect that was put on a panel: in which field, and what it is."""

    field: str
    family: str
    word: str

    @property
    def can_be(self) -> bool:
        """Whether a panel has such a field, and can show such a defect.

        >>> Spot("upper left", "finish", "chip").can_be, Spot("middle", "fret", "high").can_be
        (True, False)
        """
        known = WORDS[self.family] if self.family in FAMILIES else ()
        return self.field in FIELDS and self.word in known
