"""May this be started? Everything that stands against it, each with what clears it."""

from shop.craft.start.answer import may_start
from shop.craft.start.people import kept_apart
from shop.craft.start.standing import (
    Asking,
    Decided,
    Frozen,
    OpenStep,
    Person,
    Rework,
    Standing,
    Undecided,
)
from shop.craft.start.waits import is_of_the_hold, ready_at

__all__ = [
    "Asking",
    "Decided",
    "Frozen",
    "OpenStep",
    "Person",
    "Rework",
    "Standing",
    "Undecided",
    "is_of_the_hold",
    "kept_apart",
    "may_start",
    "ready_at",
]
