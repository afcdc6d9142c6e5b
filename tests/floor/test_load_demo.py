"""Loading the demo: today's, whole or not at all, and never over real work."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from shop.floor.demo import loading
from shop.floor.models import Step
from shop.people import badges
from tests.floor.morning import NOW, now

pytestmark = pytest.mark.django_db


def test_one_badge_is_real_work_and_nothing_is_loaded_beside_it() -> None:
    badges.issue("P-99", "4711", ["operator"])
    with pytest.raises(loading.RealWork):
        loading.load(NOW)
    assert [row["code"] for row in badges.on_the_floor()] == ["P-99"]


def test_the_command_refuses_real_work_with_one_sentence_and_what_to_do() -> None:
    badges.issue("P-99", "4711", ["operator"])
    with pytest.raises(CommandError, match="Give the demo a folder of its own"):
        call_command("load_demo")


def test_the_command_is_silent_where_it_is_told_to_mind_real_work() -> None:
    badges.issue("P-99", "4711", ["operator"])
    said = io.StringIO()
    call_command("load_demo", if_empty=True, stdout=said)
    assert said.getvalue() == ""


def test_the_command_prints_each_badge_with_its_pin_and_a_tag_to_try(settings: Any) -> None:
    said = io.StringIO()
    call_command("load_demo", if_empty=True, stdout=said)
    assert "P-11  PIN 1111  operator" in said.getvalue()
    assert f"{settings.ADDRESS}/{loading.example_tag()}" in said.getvalue()
    assert now("Q-1043").release_on == timezone.localdate()


def test_today_is_the_day_on_the_wall_clock_of_the_shop(settings: Any) -> None:
    """20:00 in UTC is the next day in a shop ten hours ahead (Etc/GMT-10, tz database)."""
    settings.TIME_ZONE = "Etc/GMT-10"
    loading.load(datetime(2031, 3, 2, 20, tzinfo=UTC))
    assert now("Q-1043").release_on == NOW.date()
    last = max(step.at for step in Step.objects.all())
    assert last < datetime(2031, 3, 2, 21, tzinfo=UTC)


def test_what_goes_wrong_while_loading_leaves_the_database_empty(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def torn(*_: Any) -> None:
        raise loading.Awry("Q-1043: torn")

    monkeypatch.setattr(loading.Morning, "_promise", torn)
    with pytest.raises(loading.Awry):
        loading.load(NOW)
    assert loading.empty()
