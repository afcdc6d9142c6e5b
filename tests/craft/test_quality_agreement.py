"""How far two inspectors agree, against a published worked example.

That 80 % are wanted, of 20 panels or more: common practice, no source.
"""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.craft.finding import Severity
from shop.craft.quality.agreement import (
    Agreement,
    Panel,
    agreement,
    by_chance,
    kappa,
)


def of(both: int, only_first: int, only_second: int, neither: int) -> Agreement:
    """The agreement on so many panels, all of them seeded."""
    kinds = [(True, True, both), (True, False, only_first), (False, True, only_second),
             (False, False, neither)]  # fmt: skip
    found = agreement([Panel(True, one, two) for one, two, many in kinds for _ in range(many)])
    assert found is not None
    return found


def test_fifty_applications_have_a_kappa_of_0_40() -> None:
    """The well-known example of 50 applications read by two (20 both yes, 15 both no, 5 and 10
    apart): p = 0.70, by chance 0.50, κ = 0.40. From memory."""
    found = of(20, 5, 10, 15)
    assert found.share == pytest.approx(0.70)
    assert by_chance(25, 30, 50) == pytest.approx(0.50)
    assert found.kappa == pytest.approx(0.40, abs=1e-9)


def test_its_interval_is_that_of_the_large_sample_error() -> None:
    """J. L. Fleiss, J. Cohen and B. S. Everitt, Psychological Bulletin 72, 1969 (formula from
    memory), worked by hand for that table: 0.127 on either side times 1.96."""
    found = of(20, 5, 10, 15)
    cells, rows, columns = [[0.4, 0.1], [0.2, 0.3]], [0.5, 0.5], [0.6, 0.4]
    k = 0.4
    a = sum(cells[i][i] * (1 - (rows[i] + columns[i]) * (1 - k)) ** 2 for i in (0, 1))
    b = (1 - k) ** 2 * (
        cells[0][1] * (columns[0] + rows[1]) ** 2 + cells[1][0] * (columns[1] + rows[0]) ** 2
    )
    c = (k - 0.5 * (1 - k)) ** 2
    error = ((a + b - c) / (0.5**2 * 50)) ** 0.5
    assert error == pytest.approx(0.127, abs=5e-4)
    assert found.kappa_interval == pytest.approx((0.4 - 1.96 * error, 0.4 + 1.96 * error), abs=1e-4)


@settings(max_examples=60, deadline=None)
@given(*[st.integers(0, 30)] * 4)
def test_the_kept_librarys_kappa_is_the_formulas(
    both: int, only_first: int, only_second: int, neither: int
) -> None:
    panels = both + only_first + only_second + neither
    if panels in (0, both, neither):
        return
    found = of(both, only_first, only_second, neither)
    chance = by_chance(both + only_first, both + only_second, panels)
    assert found.kappa is not None
    assert found.kappa == pytest.approx(kappa(found.share, chance), abs=1e-9)
    if found.kappa_interval is not None:
        low, high = found.kappa_interval
        assert -1 <= low <= found.kappa + 1e-9
        assert found.kappa - 1e-9 <= high <= 1


def test_two_who_call_all_the_same_agree_wholly_and_chance_explains_it() -> None:
    found = of(20, 0, 0, 0)
    assert found.share == 1.0
    assert (found.kappa, found.kappa_interval) == (None, None)


def test_two_who_call_half_of_them_the_same_way_agree_beyond_chance() -> None:
    found = of(10, 0, 0, 10)
    assert found.kappa == pytest.approx(1.0)
    assert found.kappa_interval == pytest.approx((1.0, 1.0))


def test_beside_one_who_calls_everything_defective_nobody_agrees_beyond_chance() -> None:
    found = of(15, 0, 5, 0)
    assert found.kappa == pytest.approx(0.0, abs=1e-12)
    assert found.kappa_interval is None


def test_what_was_missed_and_what_was_seen_where_nothing_is_are_counted_for_each() -> None:
    panels = [
        *[Panel(seeded=True, first=True, second=True)] * 9,
        *[Panel(seeded=True, first=True, second=False)] * 2,
        Panel(seeded=True, first=False, second=False),
        *[Panel(seeded=False, first=False, second=False)] * 7,
        Panel(seeded=False, first=True, second=False),
    ]
    found = agreement(panels)
    assert found is not None
    assert (found.first.missed, found.first.seeded) == (1, 12)
    assert (found.first.false_alarms, found.first.clean) == (1, 8)
    assert found.second.missed_share == pytest.approx(3 / 12)
    assert found.second.false_alarm_share == 0.0
    assert (found.agreed, found.panels) == (17, 20)


def test_with_every_panel_seeded_there_is_no_share_of_false_alarms() -> None:
    assert of(3, 1, 0, 0).first.false_alarm_share is None


@pytest.mark.parametrize(
    ("both", "apart", "severity"),
    [(16, 4, Severity.NOTE), (15, 5, Severity.WARN), (15, 4, Severity.NOTE)],
)
def test_below_eighty_in_a_hundred_of_twenty_panels_they_look_together(
    both: int, apart: int, severity: Severity
) -> None:
    """80 %, 75 %, and 15 of only 19, which are too few to judge by."""
    assert of(both, apart, 0, 0).finding.severity is severity


def test_no_panels_have_no_agreement() -> None:
    assert agreement([]) is None


def test_chance_alone_leaves_no_kappa() -> None:
    with pytest.raises(ValueError, match="by chance"):
        kappa(1.0, 1.0)


def test_the_kept_library_is_loaded_only_where_panels_are_judged() -> None:
    code = "import sys, shop.craft.quality.agreement; print('statsmodels' in sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert answer.stdout.strip() == "False", answer.stderr
