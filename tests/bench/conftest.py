"""The demo workshop at half past nine, its clock standing until a test moves it."""

from __future__ import annotations

import pytest
from django.utils import timezone

from tests.floor.morning import NOW, _fresh, morning
from tests.people.phones import Clock

__all__ = ["_fresh", "morning"]


@pytest.fixture
def today(morning: None, db: None, monkeypatch: pytest.MonkeyPatch) -> Clock:
    """Monday, 9:30. Every screen asks Django for the time, so that is the clock that stands."""
    clock = Clock(NOW)
    monkeypatch.setattr(timezone, "now", lambda: clock.now)
    return clock
