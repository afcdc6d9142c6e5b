"""Badges to sign in with, a clock to move, and a view behind the gate."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from shop.people import badges
from shop.people.models import Badge
from tests.floor.morning import _fresh
from tests.people.phones import PIN, Clock

__all__ = ["_fresh"]


@pytest.fixture
def operator(db: None) -> Badge:
    return badges.issue("P-11", PIN, ["operator"], "N")


@pytest.fixture
def other(db: None) -> Badge:
    return badges.issue("P-14", PIN, ["operator"], "B")


@pytest.fixture
def lead(db: None) -> Badge:
    return badges.issue("P-01", PIN, ["lead"])


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock(timezone.now())
    monkeypatch.setattr(timezone, "now", lambda: clock.now)
    return clock


@pytest.fixture
def phone(settings: Any) -> Client:
    """A phone that reaches the view behind the gate at /probe/."""
    settings.ROOT_URLCONF = "tests.people.rooms"
    return Client()
