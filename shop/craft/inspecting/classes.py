"""How bad a defect is: four classes, and what each means.

Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final


class DefectClass(IntEnum):
    """How bad a defect is, worst first."""

    CRITICAL = 1
    MAJOR = 2
    MINOR = 3
    NOTE = 4

    @property
    def words(self) -> str:
        """Its one word.

        >>> DefectClass(2).words
        'Major'
        """
        return CLASSES[self].words

    @property
    def meaning(self) -> str:
        """What makes a defect one of this class."""
        return CLASSES[self].meaning

    @property
    def examples(self) -> tuple[str, ...]:
        """Defects that are of this class."""
        return CLASSES[self].examples

    @property
    def serious(self) -> bool:
        """Whether two people decide about it."""
        return self <= DefectClass.MAJOR


@dataclass(frozen=True, slots=True)
class ClassWords:
    """A class in words: its one word, what it means, some examples."""

    words: str
    meaning: str
    examples: tuple[str, ...]


CLASSES: Final[dict[DefectClass, ClassWords]] = {
    DefectClass.CRITICAL: ClassWords(
        "Critical",
        "Unsafe, not playable, or the wrong product.",
        ("Split head", "Wrong hand", "Bridge lift", "Cracked tail block"),
    ),
    DefectClass.MAJOR: ClassWords(
        "Major",
        "A buyer would return it for this.",
        (
            "Buzz",
            "Chip over 1 mm on the face",
            "Action off by more than 0.3 mm",
            "Wrong pins",
        ),
    ),
    DefectClass.MINOR: ClassWords(
        "Minor",
        "Seen at 600 mm only by somebody who looks for it.",
        ("Dust nib", "Swirl at an edge", "Step of 0.1 mm"),
    ),
    DefectClass.NOTE: ClassWords(
        "Note",
        "Below the limit: noted for the trend only.",
        ("Slight step in colour",),
    ),
}
"""What each class means. Lengths in the reader's units are made by the screen."""
