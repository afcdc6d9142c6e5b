"""A room's log as a sensor writes it. All figures are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.craft.clocks import Air
from shop.craft.wood.log import MOST_ROWS, MOST_TOLD, SAMPLE, Log, read, typed, written
from shop.craft.words import THIN

NOW = datetime(2031, 3, 4, 12, 0, tzinfo=UTC)

LOG = """\
# fetched by the lead
when,celsius,rh,sensor
2031-03-03T06:45+01:00,21.4,47,S-2

2031-03-03T05:55Z,21.3,46.5,S-2
"""


def told(text: str, sensor: str = "S-2") -> list[str]:
    return [one.replace(THIN, " ") for one in read(text, NOW, sensor).faults]


def row(*cells: str) -> str:
    return f"when,celsius,rh\n{','.join(cells)}\n"


def test_a_log_is_read_with_its_sensor_oldest_first() -> None:
    log = read(LOG, NOW)
    assert (log.sensor, log.faults) == ("S-2", ())
    assert [(one.at, one.temp_c, one.rh_pct) for one in log.readings] == [
        (datetime(2031, 3, 3, 5, 45, tzinfo=UTC), Decimal("21.4"), Decimal("47.0")),
        (datetime(2031, 3, 3, 5, 55, tzinfo=UTC), Decimal("21.3"), Decimal("46.5")),
    ]


def test_the_sample_that_is_shown_is_a_log() -> None:
    assert (read(SAMPLE, NOW).sensor, len(read(SAMPLE, NOW).readings)) == ("S-2", 2)


@pytest.mark.parametrize("between", [";", "\t"])
def test_figures_with_a_comma_stand_between_semicolons_or_tabs(between: str) -> None:
    text = between.join(["When", "RH", "Celsius"]) + "\r\n"
    text += between.join(["2031-03-03T05:45Z", "47,25", '"21,4"']) + "\r\n"
    [one] = read("\ufeff" + text, NOW, "S-2").readings
    assert (one.temp_c, one.rh_pct) == (Decimal("21.4"), Decimal("47.2"))


def test_figures_with_a_comma_between_commas_are_told_apart() -> None:
    [one] = told(row("2031-03-03T05:45Z", "21", "4", "47"))
    assert one == (
        "Line 2: it has 4 cells under 3 names. Where figures have a comma, put a semicolon "
        "between cells."
    )


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (("", "21", "47"), "when is empty. Write it as 2031-03-03T06:45+01:00."),
        (("03.03.2031 06:45", "21", "47"), "03.03.2031 06:45 is no moment. Write it as"),
        (("2031-03-03", "21", "47"), "2031-03-03 is no moment."),
        (("0001-01-01T00:00+14:00", "21", "47"), "0001-01-01T00:00+14:00 is not of the"),
        (("1999-12-31T23:59Z", "21", "47"), "1999-12-31T23:59Z is not of the years 2000 to 2199."),
        (("9999-12-31T23:00-12:00", "21", "47"), "9999-12-31T23:00-12:00 is not of the years"),
        (("2031-03-03T06:45", "21", "47"), "2031-03-03T06:45 has no zone."),
        (("2031-03-04T12:11Z", "21", "47"), "2031-03-04T12:11Z is still to come."),
        (("2031-03-03T05:45Z", "", "47"), "celsius is empty. Write it, or leave the line out."),
        (("2031-03-03T05:45Z", "21"), "rh is empty."),
        (("2031-03-03T05:45Z", "warm", "47"), "warm is no number. Write it as 8.73 or 8,73."),
        (("2031-03-03T05:45Z", "NaN", "47"), "NaN is no number."),
        (("2031-03-03T05:45Z", "70", "47"), "70 °C is not of a room that is worked in: 5 to 45"),
        (("2031-03-03T05:45Z", "21", "0"), "0 %RH is not of a room that is worked in: 5 to 95"),
    ],
)
def test_a_line_that_cannot_be_so_is_named_with_its_number(
    cells: tuple[str, ...], words: str
) -> None:
    [one] = told(row(*cells))
    assert one.startswith(f"Line 2: {words}")


def test_lines_are_counted_as_they_stand_in_the_file() -> None:
    [one] = told(LOG + "\n\n2031-03-03T06:45+01:00,21.4,470,S-2\n")
    assert one.startswith("Line 8: 470 %RH")


def test_one_bad_line_keeps_the_whole_log_out() -> None:
    assert read(f"{LOG}2031-03-03T07:45+01:00,cold,47,S-2\n", NOW).readings == ()


def test_a_log_that_says_one_moment_twice_alike_says_it_once() -> None:
    again = f"{LOG}2031-03-03T05:45Z,21.4,47.0,S-2\n"
    assert read(again, NOW) == read(LOG, NOW)


def test_two_things_said_of_one_moment_are_named() -> None:
    assert told(f"{LOG}2031-03-03T05:45Z,21.4,48,S-2\n") == [
        "Line 6: line 3 says another thing of the same moment."
    ]


def test_a_log_of_two_sensors_is_brought_in_by_each() -> None:
    assert told(f"{LOG}2031-03-03T07:45+01:00,21.4,47,S-1\n", "") == [
        "It is of 2 sensors, S-1 and S-2. Bring each in by itself."
    ]


def test_a_log_that_names_another_sensor_than_was_said_is_told() -> None:
    assert told(LOG, "S-1") == ["It is of sensor S-2, and S-1 was said. Say the one it is of."]


def test_a_log_without_a_sensor_takes_the_one_that_was_said() -> None:
    text = row("2031-03-03T05:45Z", "21", "47")
    assert read(text, NOW, " S-1 ").sensor == "S-1"
    assert told(text, "") == ["No sensor is named. Say which one it is of."]
    assert told(text, "S" * 21) == ["The name of a sensor has 20 characters at most."]


@pytest.mark.parametrize("text", ["", "\n \n", "# only words\n"])
def test_a_file_of_nothing_is_told(text: str) -> None:
    assert told(text) == ["There is nothing in this file. Choose the log again."]


def test_a_file_without_the_columns_is_told_which() -> None:
    assert told("time,celsius\n2031-03-03T05:45Z,21\n") == [
        "Line 1 lacks when and rh. The first line names the columns: when,celsius,rh."
    ]
    assert told("when,celsius,rh\n") == [
        "Only the names of columns are in this file. Choose the log again."
    ]


def test_of_many_faults_the_first_are_told_and_the_rest_counted() -> None:
    faults = told("when,celsius,rh\n" + "2031-03-03T05:45Z,21,\n" * (MOST_TOLD + 3))
    assert len(faults) == MOST_TOLD + 1
    assert faults[-1] == "Beside these: 3 faults more."


def test_a_log_longer_than_is_taken_at_once_is_told() -> None:
    [one] = told("when,celsius,rh\n" + "2031-03-03T05:45Z,21,47\n" * (MOST_ROWS + 1))
    assert one == "The log has 5001 readings. Bring it in as files of 5000 at most."


def test_the_clock_of_a_sensor_may_go_a_little_before_the_shops() -> None:
    assert read(row("2031-03-04T12:10Z", "21", "47"), NOW, "S-2").faults == ()


@given(
    st.dictionaries(
        st.integers(0, 10_000),
        st.tuples(st.integers(50, 450), st.integers(50, 950)),
        min_size=1,
        max_size=20,
    )
)
def test_a_log_written_and_read_is_the_same(said: dict[int, tuple[int, int]]) -> None:
    readings = tuple(
        Air(NOW - timedelta(minutes=minutes), Decimal(t) / 10, Decimal(h) / 10)
        for minutes, (t, h) in sorted(said.items(), reverse=True)
    )
    assert read(written(Log("S-2", readings)), NOW) == Log("S-2", readings)


@given(st.text())
def test_no_file_of_words_brings_it_down(text: str) -> None:
    log = read(text, NOW, "S-2")
    assert bool(log.readings) != bool(log.faults)


@given(st.text())
def test_no_cell_brings_it_down(text: str) -> None:
    log = read(f"when;celsius;rh\n{text};{text};{text}", NOW, "S-2")
    assert log.faults


@pytest.mark.parametrize(
    ("text", "figures"),
    [
        ("T21.4 H47", ("21.4", "47")),
        (" t21,4h47,5\n", ("21.4", "47.5")),
        ("T 21.44 °C; H 47 %RH", ("21.4", "47")),
        ("T-3 H47", ("-3", "47")),  # it is refused where it is noted, with what can be
    ],
)
def test_what_a_small_gauge_types_is_two_figures(text: str, figures: tuple[str, str]) -> None:
    found = typed(text)
    assert found == (Decimal(figures[0]), Decimal(figures[1]))


@pytest.mark.parametrize(
    "text", ["", "T21.4", "H47 T21.4", "21.4 47", "T21.4 H47 T22", "T\u0662\u0661 H47"]
)
def test_what_is_no_such_thing_is_none(text: str) -> None:
    assert typed(text) is None
