"""The demo workshop at half past nine, its clock standing until a test moves it."""

from tests.bench.conftest import _fresh, morning, today

__all__ = ["_fresh", "morning", "today"]
