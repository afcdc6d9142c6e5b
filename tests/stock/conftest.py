"""The demo workshop, and one empty corner of its shelf to work in."""

from __future__ import annotations

import pytest

from shop.catalogue import book
from shop.people.models import Badge
from tests.floor.morning import _fresh, morning
from tests.stock.corner import Corner

__all__ = ["_fresh", "morning"]


@pytest.fixture
def corner(morning: None, db: None) -> Corner:
    ids = book.item_ids(["T03", "T10", "P04"])
    revision = next(row for row in book.open_revisions() if row["spec__key"] == "TARN")
    return Corner(ids, revision["id"], Badge.objects.get(code="P-41").pk)
