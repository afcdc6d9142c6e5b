"""The measuring tools: kept, checked, in hand, studied. Gauges and figures are invented.

That a check holds for a number of days, to the end of the last one, is common practice, no
source.
"""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from shop.craft.code import Kind, read
from shop.craft.finding import Severity
from shop.craft.set_up.frets import Spot
from shop.craft.words import THIN
from shop.floor import board, door, following, tags
from shop.floor.demo import gauges as demo
from shop.floor.demo import measuring
from shop.floor.models import Entry, Gauge, GaugeCheck, GaugeStudy, Reading
from shop.floor.telling import Names, told
from tests.floor.gauged import gauge, holes, measures
from tests.floor.morning import NOW, act, asking, check_tray, now, ready_for, rules, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

TODAY = date(2031, 3, 3)
GOOD, OVERDUE = "G-02", "G-06"
# Two parts, two people, each twice: gauge spread 0, parts 0.1 mm apart.
STEADY = tuple(tuple((Decimal(part), Decimal(part)) for _ in "ab") for part in ("1.0", "1.1"))


def keep(name: str = "G-07", **differs: Any) -> door.Outcome:
    said: dict[str, Any] = {"words": "depth dial", "interval_days": 90, **differs}
    said.setdefault("resolution_mm", Decimal("0.01"))
    return door.record(act("P-01", ""), door.GaugeKept(name, **said))


def check(name: str = "G-07", on: date = TODAY, passed: bool = True, **differs: Any) -> Any:
    said: dict[str, Any] = {"deviation_mm": Decimal("0.01"), **differs}
    return door.record(act("P-01", ""), door.GaugeChecked(name, on, passed, **said))


def study(name: str = GOOD, values: Any = STEADY, **differs: Any) -> door.Outcome:
    said: dict[str, Any] = {"what": "fret height", "tolerance_mm": Decimal("0.2"), **differs}
    return door.record(act("P-01", ""), door.GaugeStudied(name, values=values, **said))


def standing(name: str, on: date = TODAY) -> str:
    tool = board.tool(name)
    assert tool is not None
    return tool.standing(on)


@pytest.fixture
def at_n40() -> None:
    """N40 gauges the post holes, and the tray of Q-1043 was scanned there."""
    measures("N40", "hole")
    assert check_tray("Q-1043").done


# --- kept ---


def test_a_new_gauge_gets_a_tag_of_its_own_kind() -> None:
    assert keep().result == "recorded"
    tool = board.tool("G-07")
    assert tool is not None
    assert read(tool.code, ()).kind is Kind.GAUGE
    assert (tool.called, tool.interval_days) == ("G-07 depth dial", 90)
    assert standing("G-07") == "never checked"


def test_a_gauge_that_is_changed_keeps_its_tag() -> None:
    keep()
    before = Gauge.objects.get(name="G-07").code
    assert keep(words="nut depth dial", interval_days=60).result == "recorded"
    row = Gauge.objects.get(name="G-07")
    assert (row.code, row.words, row.interval_days) == (before, "nut depth dial", 60)


def test_a_gauge_kept_as_it_is_already_writes_nothing() -> None:
    keep()
    rows = Entry.objects.count()
    assert keep().result == "already"
    assert Entry.objects.count() == rows


def test_rows_of_gauges_are_rows_of_no_instrument() -> None:
    keep()
    row = Entry.objects.latest("id")
    assert (row.subject, row.instrument_id, row.kind) == ("G-07", None, "gauge")


@pytest.mark.parametrize(
    ("name", "differs", "rule"),
    [
        ("P-07", {}, "gauge name"),  # as a badge is called
        ("G-1043", {}, "gauge name"),  # as a guitar could be
        ("", {}, "gauge name"),
        ("G-07", {"words": " "}, "gauge words"),
        ("G-07", {"words": "x" * 41}, "gauge words"),
        ("G-07", {"resolution_mm": Decimal(0)}, "gauge resolution"),
        ("G-07", {"resolution_mm": Decimal("10.01")}, "gauge resolution"),
        ("G-07", {"interval_days": 0}, "gauge interval"),
        ("G-07", {"interval_days": 3651}, "gauge interval"),
    ],
)
def test_what_no_gauge_can_be_is_refused(name: str, differs: dict[str, Any], rule: str) -> None:
    outcome = keep(name, **differs)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert not Gauge.objects.filter(name=name).exists()


@pytest.mark.parametrize("differs", [{"interval_days": 1}, {"interval_days": 3650}])
def test_the_edges_of_an_interval_are_taken(differs: dict[str, Any]) -> None:
    assert keep(**differs).done


def test_the_next_gauge_is_called_after_the_highest_number() -> None:
    assert board.next_tool_name() == "G-07"
    keep("G-41")
    assert board.next_tool_name() == "G-42"


def test_a_gauge_that_is_put_away_is_not_offered_any_more() -> None:
    keep()
    assert "G-07" in [one.name for one in board.tools()]
    keep(retired=True)
    assert "G-07" not in [one.name for one in board.tools()]
    assert "G-07" in [one.name for one in board.tools(retired=True)]


def test_the_demo_has_six_gauges_and_the_last_is_overdue() -> None:
    assert [one.name for one in board.tools()] == [one[0] for one in demo.GAUGES]
    assert [one.name for one in board.tools() if one.overdue(TODAY)] == [OVERDUE]
    assert board.tools_by_need(TODAY)[0].name == OVERDUE


# --- checked ---


def test_a_check_holds_for_the_interval_and_is_overdue_the_day_after() -> None:
    keep(interval_days=90)
    assert check(on=date(2031, 3, 1)).result == "recorded"
    assert standing("G-07", date(2031, 5, 30)) == "checked until 2031-05-30"
    assert standing("G-07", date(2031, 5, 31)) == "overdue since 2031-05-30"


def test_the_check_of_the_latest_day_counts_whenever_it_was_entered() -> None:
    keep()
    check(on=date(2031, 3, 2))
    check(on=date(2031, 1, 2), passed=False)
    assert standing("G-07") == "checked until 2031-05-31"


def test_of_two_checks_of_one_day_the_later_entered_counts() -> None:
    keep()
    check()
    check(passed=False)
    assert standing("G-07") == "failed its check on 2031-03-03"


@pytest.mark.parametrize(
    ("name", "differs", "rule"),
    [
        ("G-99", {}, "gauge"),
        ("", {}, "gauge"),
        (GOOD, {"on": date(2031, 3, 4)}, "gauge day"),
        (GOOD, {"deviation_mm": None}, "gauge deviation"),
        (GOOD, {"deviation_mm": Decimal(100)}, "gauge deviation"),
        (GOOD, {"note": "x" * 201}, "gauge note"),
    ],
)
def test_a_check_that_cannot_be_is_refused(name: str, differs: dict[str, Any], rule: str) -> None:
    before = GaugeCheck.objects.count()
    outcome = check(name, **differs)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert GaugeCheck.objects.count() == before


def test_a_gauge_that_reads_no_length_is_checked_without_a_deviation() -> None:
    assert check(OVERDUE, deviation_mm=None).done
    assert standing(OVERDUE) == "checked until 2031-06-01"


def test_a_gauge_that_is_put_away_is_not_checked() -> None:
    keep(retired=True)
    outcome = check()
    assert words(outcome) == "G-07 depth dial is put away."


def test_a_check_that_fails_names_what_was_read_since_it_last_passed(at_n40: None) -> None:
    keep()
    check(on=TODAY - timedelta(days=1))
    assert gauge("Q-1043", holes(), tool="G-07").done
    outcome = check(passed=False)
    assert outcome.result == "recorded"
    assert words(outcome) == (
        "G-07 depth dial failed. 6 values on 1 guitar were read with it since it last passed."
    )
    assert [(one.serial, one.count) for one in board.read_with("G-07")] == [("Q-1043", 6)]


def test_fret_heights_are_among_what_was_read_with_a_gauge_that_fails(at_n40: None) -> None:
    keep()
    check(on=TODAY - timedelta(days=1))
    heights = {Spot(fret, line): "1.10" for fret in range(1, 21) for line in range(1, 7)}
    deed = door.FretsRead(
        instrument_id=now("Q-1049").id,
        operation="F20",
        stage="after",
        datum="board",
        lines=6,
        heights=heights,
        flats={3: "0.2"},
        rockers={3: "0.02"},
        tool="G-07",
    )
    assert door.record(act("P-12", "F"), deed).done
    assert gauge("Q-1043", holes(), tool="G-07").done
    assert words(check(passed=False)) == (
        "G-07 depth dial failed. 128 values on 2 guitars were read with it since it last passed."
    )
    found = [(one.serial, one.count) for one in board.read_with("G-07")]
    assert found == [("Q-1043", 6), ("Q-1049", 122)]


def test_what_was_read_on_the_day_of_the_last_check_is_counted_in(at_n40: None) -> None:
    """A check has a day and no hour: passed at seven, used all day, failed in the afternoon."""
    keep()
    check(on=TODAY)
    assert gauge("Q-1043", holes(), tool="G-07").done
    assert words(check(passed=False)).startswith("G-07 depth dial failed. 6 values on 1 guitar")


@pytest.mark.usefixtures("at_n40")
def test_a_zero_character_in_a_gauges_name_is_left_out() -> None:
    assert gauge("Q-1043", holes(), tool=f"{GOOD}\0").done
    assert set(Reading.objects.values_list("tool__name", flat=True)) == {GOOD}


def test_a_gauge_that_fails_unused_has_nothing_to_be_taken_up_again() -> None:
    keep()
    assert words(check(passed=False)).endswith("Nothing was read with it since.")


# --- in hand ---


@pytest.mark.usefixtures("at_n40")
def test_a_value_is_kept_with_the_gauge_it_was_read_with() -> None:
    outcome = gauge("Q-1043", holes(), tool=GOOD)
    assert (outcome.result, outcome.findings) == ("recorded", ())
    rows = Reading.objects.filter(instrument__body__serial="Q-1043")
    assert set(rows.values_list("tool__name", "overdue")) == {(GOOD, False)}


@pytest.mark.usefixtures("at_n40")
def test_values_without_a_gauge_are_taken_as_ever() -> None:
    assert gauge("Q-1043", holes()).done
    rows = Reading.objects.filter(instrument__body__serial="Q-1043")
    assert not rows.exclude(tool=None, overdue=False).exists()
    assert rows.count() == 6
    assert "tool" not in Entry.objects.latest("id").data


@pytest.mark.usefixtures("at_n40")
def test_an_overdue_gauge_is_taken_and_says_so() -> None:
    outcome = gauge("Q-1043", holes(), tool=OVERDUE)
    assert outcome.result == "recorded"
    [found] = outcome.findings
    assert found.severity is Severity.WARN
    assert found.words == ("G-06 room sensor was to be checked by 2031-01-31: 31 days overdue.")
    assert set(Reading.objects.values_list("overdue", flat=True)) == {True}
    shown = board.measured(now("Q-1043").id)["hole", "6"][0]
    assert (shown.tool, shown.overdue) == (OVERDUE, True)


@pytest.mark.usefixtures("at_n40")
def test_an_overdue_gauge_stands_against_no_instrument() -> None:
    gauge("Q-1043", holes(), tool=OVERDUE)
    assert now("Q-1043").standing.get("readings", ()) == ()


@pytest.mark.usefixtures("at_n40")
def test_a_gauge_is_judged_by_the_day_of_the_tap() -> None:
    keep(interval_days=1)
    check(on=TODAY)
    in_time = gauge("Q-1043", holes(), tool="G-07", at=NOW + timedelta(days=1))
    late = gauge("Q-1043", holes(), tool="G-07", at=NOW + timedelta(days=2))
    assert (rules(in_time), rules(late)) == ([], ["gauge"])


@pytest.mark.usefixtures("at_n40")
def test_a_later_check_does_not_change_what_was_read_before() -> None:
    gauge("Q-1043", holes(), tool=OVERDUE)
    check(OVERDUE, deviation_mm=None)
    assert set(Reading.objects.values_list("overdue", flat=True)) == {True}


@pytest.mark.usefixtures("at_n40")
def test_a_gauge_nobody_knows_is_refused() -> None:
    outcome = gauge("Q-1043", holes(), tool="G-99")
    assert (outcome.result, words(outcome)) == ("refused", "There is no gauge G-99 here.")
    assert not Reading.objects.exists()


@pytest.mark.usefixtures("at_n40")
def test_a_gauge_put_away_since_is_taken_and_says_so() -> None:
    keep(retired=True)
    outcome = gauge("Q-1043", holes(), tool="G-07")
    assert outcome.done
    assert words(outcome) == "G-07 depth dial was put away: nobody checks it any more."


@pytest.mark.usefixtures("at_n40")
def test_the_history_tells_the_gauge_as_it_stood_then() -> None:
    gauge("Q-1043", holes(), tool=OVERDUE)
    check(OVERDUE, deviation_mm=None)
    page = board.history(now("Q-1043"), asking("P-11", "N"), group="measures")
    row = page.rows[0]
    assert row.details[-1] == ("Read with", "G-06 room sensor, overdue since 2031-01-31")
    assert row.mark == "warn"


@pytest.mark.usefixtures("at_n40")
def test_the_same_values_with_another_gauge_are_another_act() -> None:
    """One key, two gauges: what was sent is not what is answered."""
    key = uuid.uuid4()
    spots = {("hole", one): "8.73" for one in "654321"}
    deeds = [door.Gauged(now("Q-1043").id, "N40", spots, tool=one) for one in (GOOD, OVERDUE)]
    sent = [door.record(act(key=key), deed) for deed in deeds]
    assert [one.result for one in sent] == ["recorded", "refused"]
    assert rules(sent[1]) == ["key"]


# --- studied ---


def test_a_study_is_kept_with_its_values_and_its_share_of_the_tolerance() -> None:
    outcome = study()
    assert outcome.result == "recorded"
    assert words(outcome) == f"The gauge takes up 0.0{THIN}% of the tolerance."
    row = Entry.objects.latest("id")
    assert (row.kind, row.data["share_pct"]) == ("gauge study", "0.0")
    [kept] = board.studies_of(GOOD)
    assert (kept.what, kept.values, kept.by) == ("fret height", STEADY, "P-01")
    assert kept.found.tolerance_pct == 0


def test_a_study_of_a_gauge_that_will_not_do_is_kept_all_the_same() -> None:
    apart = tuple(tuple((Decimal("1.0"), Decimal("1.2")) for _ in "ab") for _ in "xy")
    outcome = study(values=apart)
    assert (outcome.result, rules(outcome)) == ("recorded", ["GR1"])
    assert outcome.findings[0].severity is Severity.STOP
    assert GaugeStudy.objects.count() == 1


@pytest.mark.parametrize(
    ("differs", "rule"),
    [
        ({"name": "G-99"}, "gauge"),
        ({"what": ""}, "study words"),
        ({"tolerance_mm": Decimal(0)}, "study tolerance"),
        ({"values": STEADY[:1]}, "study values"),
        ({"values": tuple(part[:1] for part in STEADY)}, "study values"),
        ({"values": STEADY * 100}, "study values"),
    ],
)
def test_what_is_no_study_is_refused(differs: dict[str, Any], rule: str) -> None:
    outcome = study(**differs)
    assert (outcome.result, rules(outcome)) == ("refused", [rule])
    assert not GaugeStudy.objects.exists()


def test_a_row_of_each_deed_is_told() -> None:
    keep()
    check()
    study("G-07")
    rows = Entry.objects.filter(subject="G-07").order_by("seq")
    assert [told(one, Names()).words for one in rows] == [
        "P-01 took in gauge G-07 depth dial, to be checked every 90 days.",
        f"P-01 checked gauge G-07 depth dial on 2031-03-03: 0.01{THIN}mm off, it passed.",
        (
            "P-01 studied gauge G-07 depth dial on fret height: "
            f"it takes up 0.0{THIN}% of a tolerance of 0.2{THIN}mm."
        ),
    ]


# --- the floor made again, and tags ---


def test_gauges_checks_studies_and_what_was_read_are_made_again() -> None:
    keep()
    keep(interval_days=30)
    check()
    study("G-07")
    keep("G-08", words="old rule", retired=True)
    ready_for("Q-1043", "N40")
    stop = now("Q-1043").sheet.stop("N40")
    assert stop is not None
    values = measuring.readings(now("Q-1043"), stop)
    for tool in ("G-07", OVERDUE):
        deed = door.Gauged(now("Q-1043").id, "N40", values, tool=tool)
        assert door.record(act(), deed).done
    assert Reading.objects.filter(overdue=True, tool__name=OVERDUE).exists()
    assert following.differences()[1] == []
    before = following.picture()
    following.rebuild()
    assert following.picture() == before
    assert standing("G-07") == "checked until 2031-04-02"


def test_a_gauge_that_no_deed_changed_shows() -> None:
    Gauge.objects.filter(name=GOOD).update(interval_days=1)
    assert following.differences()[1] == [
        "Gauge G-02, interval_days: 1 on the floor, 90 by the journal."
    ]


def test_the_tag_of_a_gauge_is_told_from_that_of_a_guitar() -> None:
    tool = board.tool(GOOD)
    assert tool is not None
    found = tags.find(tool.code, Kind.GAUGE).finding
    assert found is not None
    assert found.words == "This is gauge G-02 fret height dial, not a guitar."


def test_a_whole_code_that_no_gauge_carries_is_said_to_be_none() -> None:
    found = tags.find("G123456", Kind.GAUGE).finding
    assert found is not None
    assert found.words == "G123-456 is a whole code, but no gauge here carries it."


def test_all_gauges_with_their_newest_checks_take_one_statement(
    django_assert_num_queries: Any,
) -> None:
    with django_assert_num_queries(1):
        assert len(board.tools()) == len(demo.GAUGES)
