"""The tallest drawings of a head still leave a traveller its two sides."""

from __future__ import annotations

import pytest

from shop.catalogue import revising
from shop.catalogue.models import TunerSet
from shop.paper import press
from tests.floor.morning import NOW
from tests.paper.reading import pages, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TWELVE = "/".join(str(ratio) for ratio in range(12, 24))  # invented


@pytest.mark.parametrize(
    ("key", "serial", "ratios"),
    [("T13", "Q-1058", TWELVE), ("T07", "Q-1049", "34/27/21/16/19/13")],
)
def test_graduated_machines_with_six_on_a_side_leave_two_sides(
    key: str, serial: str, ratios: str
) -> None:
    machines = TunerSet.objects.get(key=key)
    machines.ratios, machines.staggered = ratios, True
    machines.save()
    revising.item_changed(machines.pk)
    pdf = press.proof("traveller", [serial], NOW)
    assert len(pages(pdf)) == 2
    assert "34:1" in words(pdf) or "23:1" in words(pdf)
