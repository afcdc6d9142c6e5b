"""Figures of quality at the desk: days, stations and specs by tap, bars with their words, and
the instruments behind each. Guitars and defects are invented; figures are worked by hand beside
each check, from what the demo's morning holds."""

from __future__ import annotations

import csv
import io
import re
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.catalogue import book
from shop.catalogue.models import Spec, SpecRevision
from shop.craft.quality.yields import Yield
from shop.desk import at_repair
from shop.desk import behind as behind_a_bar
from shop.floor import board, door, spell
from shop.floor.models import Instrument, Step
from shop.people.models import Badge
from tests.bench.screens import Screen, classes, said, seen, signed_in
from tests.floor.casing import CASED, HOUR, READY, SERIAL, cased, done, looked, number
from tests.floor.morning import NOW

pytestmark = pytest.mark.usefixtures("today")

THIN = "\u202f"
BADGE = re.compile(r"\bP-\d\d\b")
EARLIER = NOW - HOUR
WIDE = spell.Spell(NOW - timedelta(days=180), NOW + timedelta(days=1))
MARCH = "from=2031-03-01&to=2031-03-31"
PAGES = ("", "weeks/", "defects/", "pareto/", "escapes/", "rework/", "behind/")


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def look(phone: Client, path: str = "/figures/") -> Screen:
    answer = phone.get(path)
    assert answer.status_code == 200
    return seen(answer)


def plain(screen: Screen) -> str:
    return screen.words.replace(THIN, " ")


def bars(screen: Screen) -> dict[str, str]:
    """All that a bar says, by the first word of it."""
    lists = [one for one in screen.root.iter("ul") if "bars" in classes(one)]
    told = [said(one).replace(THIN, " ") for its in lists for one in its]
    return {one.split(" ")[0]: one for one in told}


def bars_of(screen: Screen) -> list[str]:
    """The same, one after the other."""
    lists = [one for one in screen.root.iter("ul") if "bars" in classes(one)]
    return [said(one).replace(THIN, " ") for its in lists for one in its]


def behind(screen: Screen, first: str) -> str:
    """Where the bar leads whose words begin so."""
    return next(href for words, href in screen.links.items() if words.startswith(f"{first} "))


def rows(screen: Screen) -> list[str]:
    return [said(one).replace(THIN, " ") for one in screen.root.iter("tr")]


def table(phone: Client, path: str) -> list[dict[str, str]]:
    answer = phone.get(path)
    assert answer["Content-Type"].startswith("text/csv")
    lines = list(csv.reader(io.StringIO(answer.content.decode())))
    assert {len(one) for one in lines} == {len(lines[0])}
    return [dict(zip(lines[0], one, strict=True)) for one in lines[1:]]


def found(
    word: str = "chip", loop: str = "finish chip", at: datetime = EARLIER, serial: str = SERIAL
) -> None:
    done(door.DefectFound(number(serial), word, loop), at, "P-22", "I")


def escaped() -> None:
    """Cased, looked at again, and something found that the first look had not said."""
    cased()
    assert looked(READY + HOUR).done
    deed = door.DefectNoted(number(), "finish", "haze", 3, found_at="I30", zone=6)
    done(deed, READY + 2 * HOUR, "P-32", "R")


# --- which days ---


@pytest.mark.parametrize(
    ("asked", "days"),
    [
        ("", "2031-02-10 to 2031-03-03"),  # this week from its Monday, and three before
        ("?span=4w", "2031-02-10 to 2031-03-03"),
        ("?span=5d", "2031-02-25 to 2031-03-03"),  # a Monday: back to the Tuesday before
        ("?span=26w", "2030-09-09 to 2031-03-03"),
        ("?span=years", "2031-02-10 to 2031-03-03"),
        ("?from=2031-01-05&to=2031-01-09", "2031-01-05 to 2031-01-09"),
        ("?from=2031-01-05", "2031-01-05 to 2031-03-03"),
        ("?to=2031-01-09", "2031-01-09 to 2031-01-09"),
    ],
)
def test_days_are_taken_as_they_are_tapped_or_given(phone: Client, asked: str, days: str) -> None:
    assert days in look(phone, f"/figures/{asked}").words


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ("from=2031-03-05&to=2031-03-04", "2031-03-05 is after 2031-03-04."),
        ("from=2031-02-31&to=2031-03-04", "Write both days as 2031-03-14."),
        ("from=last+week", "Write both days as 2031-03-14."),
        ("from=0001-01-01&to=2031-03-04", "Write both days as 2031-03-14."),
        ("from=2020-01-01&to=2031-03-04", "is more than five years."),
        ("to=9999-12-31", "Write both days as 2031-03-14."),
    ],
)
def test_days_that_cannot_be_are_told_and_the_last_weeks_shown(
    phone: Client, asked: str, why: str
) -> None:
    for page in PAGES:
        words = look(phone, f"/figures/{page}?{asked}").words
        assert why in words
        assert page == "rework/" or "2031-02-10 to 2031-03-03" in words


def test_a_station_or_spec_that_there_is_not_is_not_asked_for(phone: Client) -> None:
    words = look(phone, "/figures/?station=%00&spec=NONE").words
    assert words == look(phone).words


def test_days_station_and_spec_go_along_to_every_other_page(phone: Client) -> None:
    screen = look(phone, "/figures/?span=26w&station=Q&spec=TARN")
    links = screen.links
    assert links["Open rework"] == "/figures/rework/?span=26w&station=Q&spec=TARN"
    assert links["5 working days"] == "?span=5d&station=Q&spec=TARN"
    given = look(phone, f"/figures/?{MARCH}&spec=TARN").links
    assert given["Escapes"] == f"/figures/escapes/?{MARCH}&spec=TARN"
    assert given["4 weeks"] == "?span=4w&spec=TARN"


# --- yields ---


def test_an_operation_is_told_with_its_yield_its_interval_and_that_it_is_few(
    phone: Client,
) -> None:
    """Four guitars of the demo were polished and one came back: Wilson's interval of 3 of 4."""
    found()
    words = bars(look(phone))["Q10"]
    assert "75.0 %" in words
    assert "3 of 4 passed, between 30.1 % and 95.4 %" in words
    assert "Too few: a first guess." in words


def test_the_rolled_yield_is_the_product_of_all_operations(phone: Client) -> None:
    found()
    (group,) = board.yields(spell.Spell(NOW - timedelta(days=60), NOW + timedelta(days=1)))
    share = 1.0
    for one in group.operations:
        share *= one.counted.passed / one.counted.started
    assert share < 1
    wanted = f"{100 * share:.1f} % pass all operations at once: the rolled yield."
    assert wanted in plain(look(phone, "/figures/?span=26w"))


def test_a_bar_leads_to_the_instruments_that_came_back(phone: Client) -> None:
    found()
    screen = look(phone, behind(look(phone), "Q10"))
    assert screen.heading == "Sent back · Q10"
    (line,) = [one for one in rows(screen) if SERIAL in one]
    assert line.startswith(f"{SERIAL} TARN ")
    assert line.endswith(" Q10 finish chip: chip")
    assert "Q-1040" not in screen.words
    every = look(phone, screen.links["All that were started"])
    assert every.heading == "Started · Q10"
    assert len(rows(every)) == 1 + 4


def test_stations_lead_to_their_operations(phone: Client) -> None:
    found()
    screen = look(phone, "/figures/?by=station")
    name = dict(book.stations())["Q"]
    href = next(it for words, it in screen.links.items() if words.startswith(f"{name} "))
    assert href == "/figures/?span=4w&station=Q"
    inside = look(phone, href)
    assert "Q10" in bars(inside)
    assert "U30" not in bars(inside)
    assert name in inside.words


def test_specs_are_told_with_what_passes_all_at_once(phone: Client) -> None:
    found()
    screen = look(phone, "/figures/?by=spec")
    told = bars(screen)
    assert "pass all of its operations at once" in told["TARN"]
    assert behind(screen, "TARN") == "/figures/?span=4w&spec=TARN"
    assert "1 of 2 passed" in bars(look(phone, "/figures/?span=4w&spec=TARN"))["Q10"]


def test_few_guitars_at_many_operations_are_few(phone: Client) -> None:
    """A handful of guitars make far more than 20 starts, and no more guitars."""
    everything = look(phone, "/figures/?by=spec&span=26w")
    group = next(one for one in board.yields(WIDE, "spec") if one.key == "TARN")
    assert group.counted.started >= 20 > group.most
    assert "Too few: a first guess." in bars(everything)["TARN"]
    assert everything.of_class("remark")[0].endswith("Too few: a first guess.")


def test_a_rolled_yield_that_hangs_on_few_says_so(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = board.OfGroup(
        "TARN",
        (
            board.OfOperation("N10", "N", Yield(40, 40)),
            board.OfOperation("U20", "E", Yield(1, 2)),
        ),
    )
    monkeypatch.setattr(board, "yields", lambda *_: (one,))
    told = "Where the fewest were started it was 2: that share is a first guess."
    assert told in look(phone).words
    inside = bars(look(phone, "/figures/?by=spec"))["TARN"]
    assert told in inside
    assert "Too few" not in inside


def test_several_operations_together_have_no_interval(phone: Client) -> None:
    """A fret that is high sends one guitar back over five operations at once: five starts, and
    no five guitars. Wilson's interval is of guitars that came back each by itself."""
    found("high", "fret")
    screen = look(phone, "/figures/?by=station")
    names = dict(book.stations())
    groups = {one.key: one for one in board.yields(WIDE, "station")}
    for key, group in groups.items():
        bar = next(one for one in bars_of(screen) if one.startswith(names[key]))
        assert (", between " in bar) == (len(group.operations) == 1), bar
    assert len({len(one.operations) == 1 for one in groups.values()}) == 2
    assert "Every start counts: a guitar once at each operation." in screen.words
    (total,) = [said(one) for one in screen.root.iter("p") if "Every start counts" in said(one)]
    assert "between" not in total


def test_one_operation_alone_has_its_interval_in_all(phone: Client) -> None:
    found()
    screen = look(phone, "/figures/?station=Q")
    assert "3 of 4 passed , between 30.1 % and 95.4 %" in plain(screen)
    assert "Every start counts" not in screen.words


def test_what_is_still_to_come_back_is_kept_in_mind(phone: Client) -> None:
    assert "the newest days look better than they will" in look(phone).words
    found()
    assert "the newest weeks look better than they will" in look(phone, "/figures/weeks/").words


def test_weeks_lead_to_their_own_days(phone: Client) -> None:
    Step.objects.filter(operation__code="Q10").update(at=datetime(2031, 2, 19, 9, tzinfo=UTC))
    screen = look(phone, "/figures/?by=week")
    assert behind(screen, "2031-W08") == "/figures/?from=2031-02-17&to=2031-02-23"


def test_the_table_behind_says_what_the_bars_say(phone: Client) -> None:
    found()
    (line,) = [one for one in rows(look(phone)) if one.startswith("Q10 ")]
    assert "3 of 4 passed 75.0 % between 30.1 % and 95.4 %" in line


def test_days_in_which_nothing_was_started_say_so(phone: Client) -> None:
    for page in ("", "weeks/"):
        screen = look(phone, f"/figures/{page}?from=2030-01-01&to=2030-01-31")
        assert "Nothing was started in these days." in screen.words


# --- week by week ---


def week(key: str, failed: int, started: int) -> board.OfGroup:
    one = board.OfOperation("Q10", "Q", Yield(started - failed, started))
    return board.OfGroup(key, (one,))


def test_a_week_beyond_what_chance_would_do_is_marked(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four weeks of 2 of 50 and one of 20 of 50: 28 of 250 is 11.2 %, and three standard
    deviations of 50 are 3 · √(0.112 · 0.888 / 50) = 13.4 %: up to 24.6 %."""
    groups = [*(week(f"2031-W0{n}", 2, 50) for n in range(5, 9)), week("2031-W09", 20, 50)]
    monkeypatch.setattr(board, "yields", lambda *_: tuple(groups))
    screen = look(phone, "/figures/weeks/")
    assert "11.2 % of all were sent back." in plain(screen)
    assert "Not steady." in screen.words
    assert "40.0 % sent back, where chance alone gives 0.0 % – 24.6 %" in plain(screen)
    assert "5 samples: the limits are a first guess." in screen.words
    assert screen.root.find(".//svg[@class='plot']") is not None
    assert screen.links["2031-W09"].startswith(
        "/figures/behind/?from=2031-02-24&to=2031-03-02&what=failed"
    )
    told = table(phone, "/figures/weeks/list.csv")
    assert {(one["operation"], one["counted"]) for one in told} == {("Q10", "guitars")}
    assert [one["beyond"] for one in told] == ["", "", "", "", "yes"]
    assert (told[4]["sent back"], told[4]["upper"]) == ("20", "0.2458")


def test_one_week_is_told_without_a_drawing(phone: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(board, "yields", lambda *_: (week("2031-W09", 2, 50),))
    screen = look(phone, "/figures/weeks/")
    assert "One week makes no chart: it begins with two." in screen.words
    assert "Steady" not in screen.words
    assert "By chance alone" not in screen.words
    assert screen.root.find(".//svg[@class='plot']") is None


def test_what_chance_would_do_is_not_told_for_several_operations_together(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One guitar of ten that is sent back over nine operations is 9 of 90 starts. Were they
    guitars, 10 % could not lie beyond 0.8 % ± 3 · √(0.008 · 0.992 / 90) = 3.7 %."""
    groups = []
    for at, failed in enumerate((0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1)):
        them = [
            board.OfOperation(code, station, Yield(10 - failed, 10))
            for _, code, station in book.operations()[:9]
        ]
        groups.append(board.OfGroup(f"2031-W{at + 1:02}", tuple(them)))
    monkeypatch.setattr(board, "yields", lambda *_: tuple(groups))
    screen = look(phone, "/figures/weeks/")
    assert "0.8 % of all were sent back." in plain(screen)
    for word in ("Not steady", "Steady", "By chance alone", "first guess"):
        assert word not in screen.words
    assert "Every start counts here: a guitar once at each operation." in screen.words
    assert screen.root.find(".//svg[@class='plot']") is not None
    code = book.operations()[0][1]
    assert screen.links[code] == f"/figures/weeks/?span=4w&operation={code}"
    alone = look(phone, screen.links[code])
    assert "By chance alone" in alone.words
    told = table(phone, "/figures/weeks/list.csv")[-1]
    assert (told["operation"], told["counted"], told["started"]) == ("all", "starts", "90")
    assert (told["sent back"], told["upper"], told["beyond"]) == ("9", "", "")


def test_weeks_of_one_operation_are_a_tap_away(phone: Client) -> None:
    found()
    Step.objects.filter(operation__code="Q10", instrument__body__serial="Q-1040").update(
        at=NOW - timedelta(days=8)
    )
    inside = look(phone, "/figures/behind/?what=failed&operation=Q10")
    there = inside.links["Q10 week by week"]
    assert there == "/figures/weeks/?span=4w&operation=Q10"
    screen = look(phone, there)
    assert "25.0 % of all were sent back." in plain(screen)
    assert "<style" not in screen.answer.content.decode()
    assert " style=" not in screen.answer.content.decode()


# --- by word ---


def four_inspected() -> None:
    """Two guitars of the demo were inspected before, a third is, and on a fourth something was
    found there."""
    cased()
    found("chip", at=CASED + HOUR)
    found("dust nib", "cosmetic", CASED + HOUR, "Q-1041")
    found("chip", at=CASED + 2 * HOUR, serial="Q-1041")


def test_words_are_told_on_a_hundred_inspected(phone: Client) -> None:
    """2 chips on 4 instruments make 50 on a hundred."""
    four_inspected()
    screen = look(phone, "/figures/defects/")
    told = bars(screen)
    assert list(told) == ["Chip", "Dust"]
    assert "50.0 on a hundred" in told["Chip"]
    assert "2 on 4 inspected" in told["Chip"]
    assert "25.0 on a hundred" in told["Dust"]
    assert "4 instruments inspected: a first guess. It says something from 20 on." in screen.words


def test_a_word_leads_to_what_it_was_found_on(phone: Client) -> None:
    done(door.DefectFound(number("Q-1041"), "swirl", "cosmetic"), EARLIER, "P-15", "Q")
    screen = look(phone, behind(look(phone, "/figures/defects/"), "Swirl"))
    assert screen.heading == "Swirl"
    assert "Q-1041" in screen.words


def test_a_serial_is_kept_back_until_the_second_look(phone: Client) -> None:
    cased()
    deed = door.DefectNoted(number(), "finish", "haze", 4, found_at="I10")
    done(deed, CASED + HOUR, "P-31", "I")
    screen = look(phone, "/figures/behind/?what=found&family=finish&word=haze")
    assert SERIAL not in screen.words
    assert "A serial is kept back until the second look" in screen.words


def test_what_costs_most_is_ranked_by_minutes_in_all_or_by_count(phone: Client) -> None:
    """Two nibs of 15 min, one chip of 40: by count the nib, by minutes the chip (40 of 70), since
    2 · 15 = 30 is less. What nothing is said of is ranked by minutes, as what costs most."""
    found("dust nib", "cosmetic")
    found("dust nib", "cosmetic", serial="Q-1041")
    found("chip", serial="Q-1040")
    first = {}
    for rank in ("count", "minutes", "both", ""):
        told = bars(look(phone, f"/figures/pareto/?rank={rank}"))
        first[rank] = next(iter(told.values()))
    assert first["count"].startswith("Dust nib finish 2 times")
    assert first["minutes"].startswith("Chip finish 40 min")
    assert "57.1 % of all, 57.1 % with those above" in first["minutes"]
    assert "One of the few that make 80 %" in first["minutes"]
    assert first[""] == first["both"] == first["minutes"]
    links = look(phone, "/figures/pareto/").links
    assert "By count" in links
    assert "By both" not in links


def test_words_that_took_no_minutes_are_not_called_the_few(phone: Client) -> None:
    deed = door.DefectNoted(number(), "finish", "chip", 3)
    done(deed, EARLIER, "P-31", "I")
    screen = look(phone, "/figures/pareto/?rank=minutes")
    assert "None of these was sent on a loop yet" in screen.words
    assert "80 %" not in bars(screen)["Chip"]


def test_no_defects_say_how_they_come_to_stand_there(phone: Client) -> None:
    for page in ("defects/", "pareto/"):
        screen = look(phone, f"/figures/{page}?from=2030-01-01&to=2030-01-31")
        assert "No defect was noted in these days." in screen.words


# --- escapes ---


def test_what_only_the_second_look_found_is_told_and_led_to(phone: Client) -> None:
    escaped()
    screen = look(phone, f"/figures/escapes/?{MARCH}")
    assert "100.0 on a hundred" in screen.words
    assert "1 on 1 looked at twice" in bars(screen)["TARN"]
    assert "Fewer than 20: a first guess." in bars(screen)["TARN"]
    inside = look(phone, behind(screen, "TARN"))
    assert inside.heading == "Escapes"
    assert SERIAL in inside.words


def test_escapes_are_told_by_week(phone: Client) -> None:
    escaped()
    screen = look(phone, f"/figures/escapes/?{MARCH}&by=week")
    assert list(bars(screen)) == ["2031-W10"]
    assert "to=2031-03-09" in behind(screen, "2031-W10")
    told = table(phone, f"/figures/escapes/list.csv?{MARCH}&by=week")
    assert told[0] == {"part": "all", "escaped": "1", "inspected twice": "1", "rate": "1.0000"}
    assert [one["part"] for one in told[1:]][:2] == ["2031-W09", "2031-W10"]


@pytest.mark.parametrize(
    ("one", "many"),
    [("by=spec&spec=TARN", "by=spec"), ("by=week&to=2031-03-09", "by=week&to=2031-09-30")],
)
def test_more_specs_and_more_weeks_take_no_more_statements(
    phone: Client, one: str, many: str
) -> None:
    def statements(asked: str) -> int:
        path = f"/figures/escapes/?from=2031-03-03&{asked}"
        path = path if "to=" in path else f"{path}&to=2031-03-31"
        look(phone, path)  # what is kept in memory is read once
        with CaptureQueriesContext(connection) as caught:
            look(phone, path)
        return len(caught)

    escaped()
    assert len(board.specs_built()) > 2
    assert statements(one) == statements(many)


def test_a_spec_that_was_never_built_is_not_offered(phone: Client) -> None:
    built = set(board.specs_built())
    assert built == set(Instrument.objects.values_list("revision__spec__key", flat=True))
    never = SpecRevision.objects.exclude(spec__key="TARN").first()
    assert never is not None
    never.spec = Spec.objects.create(key="NEVER")
    never.pk, never.number, never.state = None, 1, "draft"
    never.save()
    assert "NEVER" in book.specs_of_revisions().values()
    screen = look(phone, "/figures/")
    offered = [said(one) for one in screen.root.iter("option")]
    assert "TARN" in offered
    assert "NEVER" not in offered


def test_nothing_looked_at_twice_says_so(phone: Client) -> None:
    screen = look(phone, "/figures/escapes/?from=2030-01-01&to=2030-01-31")
    assert "Nothing was looked at twice in these days." in screen.words


# --- at repair ---


def test_what_is_at_repair_is_told_with_its_age(phone: Client) -> None:
    found()
    screen = look(phone, "/figures/rework/")
    assert "Half of them for less than 1 h; the oldest for 1 h." in plain(screen)
    (line,) = [one for one in rows(screen) if SERIAL in one]
    assert line.startswith(f"{SERIAL} TARN 1 h to be repaired ")
    assert line.endswith("finish chip: chip")
    assert "1 instrument" in bars(screen)["Less"]


def test_a_bar_of_ages_leads_to_the_instruments_of_that_age(phone: Client) -> None:
    found()
    screen = look(phone, "/figures/rework/")
    young = look(phone, behind(screen, "Less"))
    assert [one for one in rows(young) if SERIAL in one]
    old = look(phone, behind(screen, "More"))
    assert SERIAL not in old.words
    assert "None of that age." in old.words


def test_the_list_of_an_age_holds_those_of_that_age_alone(phone: Client) -> None:
    found()
    screen = look(phone, "/figures/rework/")
    young = look(phone, behind(screen, "Less")).links["List as CSV"]
    old = look(phone, behind(screen, "More")).links["List as CSV"]
    assert "age=0" in young
    assert [one["serial"] for one in table(phone, young)] == [SERIAL]
    assert table(phone, old) == []
    assert [one["serial"] for one in table(phone, screen.links["List as CSV"])] == [SERIAL]


@pytest.mark.parametrize(("hours", "bucket"), [(0, 0), (23.9, 0), (24, 1), (72, 2), (168, 3)])
def test_an_age_belongs_to_one_bar(hours: float, bucket: int) -> None:
    assert at_repair._bucket(timedelta(hours=hours)) == bucket


def test_nothing_at_repair_says_so(phone: Client) -> None:
    assert "Nothing is on a loop." in look(phone, "/figures/rework/").words


# --- behind a bar ---


def test_instruments_come_a_page_at_a_time(phone: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spell, "SHOWN", 3)
    first = look(phone, "/figures/behind/?what=started&operation=Q10")
    assert len(rows(first)) == 1 + 3
    last = look(phone, first.links["Older ones"])
    assert len(rows(last)) == 1 + 1
    assert "Older ones" not in last.links
    assert "page=1" in last.links["Newer ones"]
    assert len(table(phone, "/figures/behind/list.csv?what=started&operation=Q10")) == 4


def test_a_list_holds_every_one_that_a_bar_counts(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However they are read: a list that ends before its bar does would be wrong unseen."""
    path = "/figures/behind/list.csv?what=started&span=26w"
    every = table(phone, path)
    (group,) = board.yields(WIDE)
    assert len(every) == group.counted.started > 50
    monkeypatch.setattr(behind_a_bar, "MANY", 7)
    assert table(phone, path) == every


@pytest.mark.parametrize("page", ["0", "-1", "x", "9" * 30, "²"])
def test_a_page_that_cannot_be_is_the_first(phone: Client, page: str) -> None:
    for where in ("behind/?what=started", "rework/?"):
        assert phone.get(f"/figures/{where}&page={page}").status_code == 200


def test_a_serial_leads_to_its_instrument(phone: Client) -> None:
    screen = look(phone, "/figures/behind/?what=started&operation=Q10")
    tag = board.tags_of([SERIAL])[SERIAL]["body"]
    assert screen.links[SERIAL] == reverse("bench:instrument", args=[tag])


def test_an_inspector_is_not_told_why_something_came_back() -> None:
    """They may be the one to look again, with fresh eyes."""
    found()
    inspector = signed_in("P-31")
    screen = look(inspector, "/figures/behind/?what=failed&operation=Q10")
    assert SERIAL in screen.words
    assert "finish chip" not in screen.words
    assert "look at it with fresh eyes" in screen.words
    (row,) = table(inspector, "/figures/behind/list.csv?what=failed&operation=Q10")
    assert (row["serial"], row["words"]) == (SERIAL, "")
    assert "finish chip" not in look(inspector, "/figures/rework/").words
    assert "loop" not in table(inspector, "/figures/rework/list.csv")[0]


# --- all of them ---


def everything() -> None:
    escaped()
    found("high", "fret", EARLIER, "Q-1040")
    found("chip", at=EARLIER, serial="Q-1041")


LISTS = (
    "list.csv", "list.csv?by=station", "list.csv?by=spec", "list.csv?by=week", "weeks/list.csv",
    "defects/list.csv", "pareto/list.csv", "pareto/list.csv?rank=count",
    "escapes/list.csv", "rework/list.csv", "behind/list.csv",
    "behind/list.csv?what=escaped", "behind/list.csv?what=found&family=fret&word=high",
)  # fmt: skip


@pytest.mark.parametrize("path", LISTS)
def test_every_figure_comes_as_csv(phone: Client, path: str) -> None:
    everything()
    joined = "&" if "?" in path else "?"
    assert table(phone, f"/figures/{path}{joined}from=2031-01-01&to=2031-03-31")


def test_nothing_is_ever_told_by_person(phone: Client) -> None:
    everything()
    asked = (*PAGES, "?by=station", "?by=spec", "?by=week", "behind/?what=escaped",
             "behind/?what=found&family=fret&word=high", "pareto/?rank=count")  # fmt: skip
    for path in asked:
        assert BADGE.findall(look(phone, f"/figures/{path}").words) == []
    for path in LISTS:
        assert BADGE.findall(phone.get(f"/figures/{path}").content.decode()) == []


def test_leads_and_inspectors_see_figures_and_nobody_else_does() -> None:
    inspector, operator = signed_in("P-31"), signed_in("P-11")
    assert [inspector.get(f"/figures/{page}").status_code for page in PAGES] == [200] * 7
    assert [operator.get(f"/figures/{page}").status_code for page in PAGES] == [403] * 7
    assert look(inspector, "/figures/").links["Figures"] == "/figures/"


@pytest.mark.parametrize(
    "path", [*PAGES, "?by=spec", "?by=week", "escapes/?by=week", "behind/?what=escaped"]
)
def test_more_guitars_take_no_more_statements(phone: Client, path: str) -> None:
    def statements() -> int:
        look(phone, address)  # what is kept in memory is read once
        with CaptureQueriesContext(connection) as asked:
            look(phone, address)
        return len(asked)

    address = f"/figures/{path}{'&' if '?' in path else '?'}{MARCH}"
    everything()
    few = statements()
    found("dust nib", "cosmetic", EARLIER, "Q-1050")
    found("dust nib", "cosmetic", EARLIER, "Q-1041")
    assert statements() == few


def test_a_spanish_reader_has_bars_in_spanish(phone: Client) -> None:
    four_inspected()
    Badge.objects.filter(code="P-01").update(language="es")
    told = bars(look(signed_in("P-01"), "/figures/defects/"))
    assert not any(one.startswith(("Chip ", "Dust ")) for one in told.values())
