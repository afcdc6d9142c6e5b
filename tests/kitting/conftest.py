"""The demo workshop at half past nine."""

from tests.bench.conftest import _fresh, morning, today

__all__ = ["_fresh", "morning", "today"]
