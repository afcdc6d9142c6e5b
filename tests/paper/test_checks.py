"""What keeps a shop from printing is said when it starts."""

from __future__ import annotations

import sys
from typing import Any

import pytest
from django.core.checks import registry

from shop.paper import checks


def test_an_address_of_27_characters_leaves_room_for_a_code(settings: Any) -> None:
    settings.ADDRESS = "http://floor.quillmere:8000"
    assert len(settings.ADDRESS) == 27
    assert checks.address_fits() == []


def test_an_address_of_28_characters_is_warned_of_with_a_way_out(settings: Any) -> None:
    settings.ADDRESS = "http://floors.quillmere:8000"
    (found,) = checks.address_fits()
    assert found.id == "paper.W001"
    assert "36 characters" in found.msg
    assert "shorter name" in found.msg
    assert "cannot be printed" in str(found.hint)


def test_an_address_that_a_tag_cannot_spell_is_warned_of(settings: Any) -> None:
    settings.ADDRESS = "http://the_shop:8000"
    (found,) = checks.address_fits()
    assert "“_”" in found.msg


def test_missing_layout_libraries_are_warned_of_with_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delitem(sys.modules, "shop.paper.typesetting", raising=False)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    (found,) = checks.press_is_there()
    assert found.id == "paper.W002"
    assert "libpango-1.0-0" in str(found.hint)


def test_nothing_is_said_where_the_libraries_are_installed() -> None:
    assert checks.press_is_there() == []


def test_both_checks_run_when_the_shop_starts() -> None:
    assert {checks.address_fits, checks.press_is_there} <= set(registry.registry.get_checks())
