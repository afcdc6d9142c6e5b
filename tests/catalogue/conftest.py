"""The demo workshop, for the tests of this room that want one."""

from tests.floor.morning import _fresh, morning

__all__ = ["_fresh", "morning"]
