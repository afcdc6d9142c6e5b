"""Little's law, against published examples."""

from __future__ import annotations

import pytest

from shop.craft.quality.little import in_process


def test_a_hundred_in_process_for_twenty_hours_flow_at_five_an_hour() -> None:
    """Simpson & Hancock, Practical Operations Management, 2nd ed. 2017, as quoted."""
    assert in_process(5, 20) == 100


def test_four_benches_of_two_hours_hold_four_at_half_a_unit_an_hour() -> None:
    """kislingconsultants.com, "Little's law explained", as quoted."""
    assert in_process(0.5, 8) == 4


def test_a_rack_of_twenty_four_a_working_day_holds_about_seventy_nine() -> None:
    """The trade's own arithmetic: 120 in 7 days, each for 4.6."""
    assert in_process(120 / 7, 4.6) == pytest.approx(78.9, abs=0.05)
