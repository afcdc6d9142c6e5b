"""The fit desk: any kit against any spec, every set on every spec, what on the shelf fits.

Which set fits which spec of the invented workshop: common practice, no source.
"""

from __future__ import annotations

import csv
import io
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from shop.catalogue import book
from shop.catalogue.models import Item, SpecRevision, TunerSet
from shop.craft import fit
from shop.craft.hardware import Picked
from shop.desk import fitting
from shop.people.models import Badge
from shop.stock import ledger
from shop.stock.models import Lot
from tests.bench.screens import Screen, classes, said, seen, signed_in
from tests.floor.morning import NOW

pytestmark = pytest.mark.usefixtures("today")

# Each spec of the demo and the sets that go on it.
FITS = {
    "FELL": {"T09"},
    "FIRTH": {"T13"},
    "HOLM": {"T06", "T14"},
    "NESS": {"T11"},
    "SKERRY": {"T07"},
    "TARN": {"T01", "T16"},
    "VOE": {"T12"},
    "WOLD": {"T06", "T15"},
}


@pytest.fixture
def phone() -> Client:
    return signed_in("P-01")


def statements(phone: Client, path: str) -> int:
    """How many statements a page takes, the stations of the strip being known already."""
    phone.get(path)
    with CaptureQueriesContext(connection) as asked:
        phone.get(path)
    return len(asked)


# --- any kit against any spec ---


def ask(phone: Client, spec: str = "", **kit: Any) -> Screen:
    return seen(phone.get("/fit/", {"spec": spec, **kit} if spec else {}))


def chosen(screen: Screen) -> dict[str, str]:
    """The article chosen in each select of the kit."""
    found = {}
    for select in screen.root.iter("select"):
        picked = [one.get("value", "") for one in select.iter("option") if "selected" in one.attrib]
        found[select.get("name", "")] = picked[0] if picked else ""
    return found


def stops(screen: Screen) -> list[str]:
    return [one.replace("\u202f", " ") for one in screen.of_class("finding-stop")]


def test_the_desk_asks_for_a_spec_first(phone: Client) -> None:
    screen = ask(phone)
    assert screen.heading == "Does this kit fit?"
    options = [said(one).split(",")[0] for one in screen.root.iter("option")]
    assert options == sorted(FITS)


@pytest.mark.parametrize("spec", sorted(FITS))
def test_a_specs_own_kit_is_chosen_already_and_fits(phone: Client, spec: str) -> None:
    screen = ask(phone, spec)
    own = {
        line.article.family.value: line.article.key
        for one in book.specs()
        if one.facts.key == spec
        for line in book.kit_lines(one.revision_id)
    }
    assert {name: key for name, key in chosen(screen).items() if key} == own | {"spec": spec}
    assert stops(screen) == []
    assert "Nothing stands against this kit" in screen.of_class("finding-clear")[0]


def test_another_article_is_judged_with_the_numbers_and_the_next_step(phone: Client) -> None:
    [told] = stops(ask(phone, "TARN", tuners="T03"))
    assert "Bushing 8.35 mm in hole 8.73 mm" in told
    assert "Choose other tuning machines for TARN revision 1." in told


def test_the_worst_finding_comes_first(phone: Client) -> None:
    screen = ask(phone, "TARN", tuners="T03", case="C03")
    kinds = [
        one
        for element in screen.one(".//section[@id='answer']").iter("div")
        for one in ("stop", "warn")
        if f"finding-{one}" in classes(element)
    ]
    assert "stop" in kinds
    assert kinds == sorted(kinds)


def test_a_family_left_out_is_named_and_no_rule_speaks_of_it(phone: Client) -> None:
    screen = ask(phone, "TARN", nut="")
    assert "Left out of TARN’s own kit: N01" in screen.words
    assert chosen(screen)["nut"] == ""
    assert stops(screen) == []


def test_electronics_without_their_battery_do_not_pass_for_a_whole_kit(phone: Client) -> None:
    """Rule R21: the unit and its battery are both there; common practice, no source."""
    screen = ask(phone, "HOLM", battery="")
    assert any("Battery missing" in one for one in stops(screen))


def test_an_article_that_is_not_of_the_specs_own_kit_is_named_even_where_it_fits(
    phone: Client,
) -> None:
    screen = ask(phone, "TARN", tuners="T16")
    assert stops(screen) == []
    assert "Not in TARN’s own kit: T16" in screen.words


def test_one_specs_kit_is_tried_on_another(phone: Client) -> None:
    """Every part of TARN's kit on the left-handed WOLD: at least the nut is of a wrong hand."""
    kit = {name: key for name, key in chosen(ask(phone, "TARN")).items() if name != "spec"}
    told = " ".join(stops(ask(phone, "WOLD", **kit)))
    assert "N01" in told or "Nut" in told
    assert "bushing" in told


def test_the_answer_is_that_of_the_rules_themselves(phone: Client) -> None:
    """Every set on every spec: the desk neither drops a finding nor adds one."""
    machines = [one for _, one in book.sets()]
    for spec in book.specs():
        for one in machines:
            asked = fitting._against(spec.facts, [one])
            assert set(asked) == set(fit.kit(spec.facts, (), [Picked(article=one)]))


def test_an_item_that_is_not_there_says_so_and_keeps_the_rest(phone: Client) -> None:
    screen = ask(phone, "TARN", tuners="T99", nut="N02")
    assert "There is no T99 to choose here." in stops(screen)[0]
    assert chosen(screen)["nut"] == "N02"
    assert any("nut" in one.lower() for one in stops(screen)[1:])


def test_an_item_of_another_family_is_not_taken_for_a_nut(phone: Client) -> None:
    assert "There is no S01 to choose here." in stops(ask(phone, "TARN", nut="S01"))[0]


def test_a_spec_that_is_not_open_says_so_and_offers_those_that_are(phone: Client) -> None:
    screen = ask(phone, "MOOR")
    assert "MOOR has no open revision." in stops(screen)[0]
    assert "Take its own kit" in screen.buttons


def test_nothing_chosen_is_neither_a_fit_nor_a_stop(phone: Client) -> None:
    nothing = {one: "" for one in chosen(ask(phone, "TARN")) if one != "spec"}
    screen = ask(phone, "TARN", **nothing)
    assert "Nothing is chosen." in screen.words
    assert "Nothing stands against" not in screen.words


def test_an_obsolete_item_of_the_own_kit_stays_chosen(phone: Client) -> None:
    Item.objects.filter(key="N01").update(obsolete=True)
    screen = ask(phone, "TARN")
    assert chosen(screen)["nut"] == "N01"
    assert stops(screen) == []


def test_with_script_the_answer_comes_with_the_ways_on_and_nothing_else(phone: Client) -> None:
    asked = {"spec": "TARN", "tuners": "T03"}
    screen = seen(phone.get("/fit/", asked, headers={"HX-Request": "true"}))
    assert [one.get("id") for one in screen.root] == ["answer", "fit-ways"]
    assert "On TARN revision 1" in screen.words
    assert "Bushing 8.35" in screen.words


@pytest.mark.parametrize("more", [0, 30])
def test_the_desk_takes_ten_statements_for_any_number_of_items(phone: Client, more: int) -> None:
    """Badge and rights, three of the specs, two of the kit, three of the items."""
    add_sets(more)
    assert statements(phone, "/fit/?spec=TARN") == 10


# --- every set on every spec ---


def add_sets(count: int) -> None:
    """So many more sets, each with a bushing of its own; invented."""
    like = TunerSet.objects.filter(key="T01").values().get()
    own = {"id", "item_ptr_id", "key", "bushing_od_mm"}
    shared = {name: value for name, value in like.items() if name not in own}
    for number in range(count):
        bushing = Decimal(8) + Decimal(number) / 100
        TunerSet.objects.create(key=f"Y{number:03}", bushing_od_mm=bushing, **shared)


def add_specs(count: int) -> None:
    """So many more open specs like TARN; invented."""
    like = SpecRevision.objects.select_related("spec").get(spec__key="TARN", state="open")
    for number in range(count):
        spec = type(like.spec).objects.create(key=f"Z{number:03}")
        like.pk, like.spec, like._state.adding = None, spec, True
        like.save()


def grid(screen: Screen) -> dict[tuple[str, str], str]:
    """The words of each cell by spec and set."""
    table = screen.one(".//table")
    heads = [said(one) for one in table.find("thead/tr") or []][1:]
    found = {}
    for row in table.iter("tr"):
        if row.find("td") is None:
            continue
        spec = said(row.find("th"))  # type: ignore[arg-type]
        for key, cell in zip(heads, row.findall("td"), strict=True):
            found[spec, key] = said(cell)
    return found


def test_every_set_stands_on_every_open_spec_and_the_right_ones_fit(phone: Client) -> None:
    cells = grid(seen(phone.get("/fit/sets/")))
    assert len(cells) == len(FITS) * TunerSet.objects.count()
    fits = {spec: {key for (at, key), words in cells.items() if at == spec and "Fits" in words}
            for spec in FITS}  # fmt: skip
    assert fits == FITS


def test_a_cell_names_the_rules_that_speak_against_the_set(phone: Client) -> None:
    cells = grid(seen(phone.get("/fit/sets/")))
    assert cells["TARN", "T03"].endswith("No fit R06")
    assert "R05" in cells["TARN", "T05"]


def test_a_cell_with_only_a_warning_asks_to_check(phone: Client) -> None:
    """A bushing 0.12 mm over its hole: more than is usual, not yet splitting."""
    tight = Decimal("8.73") + Decimal("0.125")
    TunerSet.objects.filter(key="T16").update(bushing_od_mm=tight, tolerances="")
    cells = grid(seen(phone.get("/fit/sets/")))
    assert cells["TARN", "T16"].endswith("Check R06")


def test_a_cell_leads_to_its_reasons_with_their_why(phone: Client) -> None:
    screen = seen(phone.get("/fit/sets/"))
    link = next(one for one in screen.links.values() if "spec=TARN" in one and "set=T03" in one)
    reasons = seen(phone.get(f"/fit/sets/{link}"))
    assert reasons.heading == "T03 on TARN"
    assert "Bushing 8.35 mm in hole 8.73 mm" in stops(reasons)[0]
    assert "Choose other tuning machines" in stops(reasons)[0]


def test_a_set_that_fits_says_so_on_its_own_page(phone: Client) -> None:
    screen = seen(phone.get("/fit/sets/", {"spec": "tarn", "set": "t01"}))
    assert "Nothing stands against this set" in screen.of_class("finding-clear")[0]


@pytest.mark.parametrize("asked", [{"spec": "MOOR", "set": "T01"}, {"spec": "TARN", "set": "T99"}])
def test_a_pair_that_is_not_there_is_not_found(phone: Client, asked: dict[str, str]) -> None:
    assert phone.get("/fit/sets/", asked).status_code == 404


def test_heads_of_the_table_are_heads_to_who_hears_it(phone: Client) -> None:
    table = seen(phone.get("/fit/sets/")).one(".//table")
    heads = [one.get("scope") for one in table.iter("th")]
    assert heads == ["col"] * (1 + TunerSet.objects.count()) + ["row"] * len(FITS)
    assert table.find("caption") is not None


@pytest.mark.parametrize(
    ("words", "specs", "sets"),
    [
        ("TARN", {"TARN"}, 16),
        ("tarn t0", {"TARN"}, 9),
        ("12-string", {"FIRTH"}, 1),
        ("plates", set(FITS), 2),
        ("left-handed", {"WOLD"}, 2),
    ],
)
def test_words_narrow_the_side_they_are_found_on(
    phone: Client, words: str, specs: set[str], sets: int
) -> None:
    cells = grid(seen(phone.get("/fit/sets/", {"words": words})))
    assert {spec for spec, _ in cells} == specs
    assert len({key for _, key in cells}) == sets


def test_a_word_found_nowhere_leaves_nothing_and_says_so(phone: Client) -> None:
    screen = seen(phone.get("/fit/sets/", {"words": "TARN glockenspiel"}))
    assert "No set or no spec has all of these words." in screen.words


def test_a_large_table_comes_in_parts_that_make_up_the_whole(phone: Client) -> None:
    add_sets(20)
    add_specs(34)
    seen_cells: set[tuple[str, str]] = set()
    ways = ["/fit/sets/"]
    walked: set[str] = set()
    while ways:
        way = ways.pop()
        if way in walked:
            continue
        walked.add(way)
        screen = seen(phone.get(way))
        cells = grid(screen)
        assert len(cells) <= fitting.SETS_A_PAGE * fitting.SPECS_A_PAGE
        seen_cells |= set(cells)
        ways += [
            f"/fit/sets/{href}" for told, href in screen.links.items() if told.startswith("Next ")
        ]
    assert len(walked) == 6  # 36 sets in three parts, 42 specs in two
    assert len(seen_cells) == TunerSet.objects.count() * (len(FITS) + 34)


@pytest.mark.parametrize("asked", ["-1", "99999", "x", "9" * 30])
def test_a_part_that_is_not_there_is_the_first_one(phone: Client, asked: str) -> None:
    whole = grid(seen(phone.get("/fit/sets/")))
    assert grid(seen(phone.get("/fit/sets/", {"set_from": asked, "spec_from": asked}))) == whole


@pytest.mark.parametrize(("sets", "specs"), [(0, 0), (20, 0), (0, 20)])
def test_the_table_takes_six_statements_for_any_number_of_sets_and_specs(
    phone: Client, sets: int, specs: int
) -> None:
    """Badge and rights, three of the specs, one of the sets."""
    add_sets(sets)
    add_specs(specs)
    assert statements(phone, "/fit/sets/") == 6


def table(phone: Client, words: str = "") -> list[dict[str, str]]:
    answer: Any = phone.get("/fit/sets/list.csv", {"words": words})
    assert answer["Content-Type"].startswith("text/csv")
    return list(csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode())))


def test_the_csv_holds_every_cell_whatever_the_page_shows(phone: Client) -> None:
    add_sets(30)
    rows = table(phone)
    assert len(rows) == len(FITS) * TunerSet.objects.count()
    [cell] = [one for one in rows if (one["spec"], one["set"]) == ("TARN", "T03")]
    assert (cell["answer"], cell["rules"]) == ("No fit", "R06")
    assert cell["first reason"].startswith("Bushing 8.35\u202fmm in hole 8.73\u202fmm")


def test_the_csv_is_narrowed_by_the_same_words(phone: Client) -> None:
    assert {(one["spec"], one["set"]) for one in table(phone, "TARN T03")} == {("TARN", "T03")}


def test_no_cell_of_the_csv_is_a_formula(phone: Client) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10."""
    TunerSet.objects.filter(key="T03").update(name="=1+1")
    assert {one["name"] for one in table(phone, "T03")} == {"'=1+1"}


# --- what on the shelf fits ---


def shelf_of(phone: Client, spec: str = "TARN") -> Screen:
    return seen(phone.get(f"/fit/{spec}/shelf/"))


def offers(screen: Screen) -> list[str]:
    return screen.of_class("boxed")


def hold(key: str) -> None:
    lot = Lot.objects.get(item__key=key)
    ledger.hold(lot.pk, "Plating is spotted", Badge.objects.get(code="P-41").pk, NOW)


def test_sets_that_go_come_first_with_what_is_free_and_where_it_lies(phone: Client) -> None:
    first = offers(shelf_of(phone))[0]
    assert "Fits: T01" in first
    assert "8 free of 14 on hand · bin A-01" in first


def test_what_is_ordered_is_marked_and_comes_before_what_fits_as_well(phone: Client) -> None:
    told = offers(shelf_of(phone))
    assert ["Ordered" in one for one in told] == [True, *[False] * (len(told) - 1)]
    assert [one.split(": ")[1][:3] for one in told] == ["T01", "T16"]


def test_sets_that_do_not_go_stand_below_with_their_first_reason(phone: Client) -> None:
    screen = shelf_of(phone)
    [row] = [said(one) for one in screen.root.iter("tr") if said(one).startswith("T03")]
    assert "R06 Bushing 8.35 mm in hole 8.73 mm" in row
    assert len(list(screen.root.iter("tr"))) - 1 == TunerSet.objects.count() - 2


def test_a_set_with_a_warning_is_offered_with_it(phone: Client) -> None:
    tight = Decimal("8.73") + Decimal("0.125")
    TunerSet.objects.filter(key="T16").update(bushing_od_mm=tight, tolerances="")
    told = offers(shelf_of(phone))[1]
    assert "Check: T16" in told
    assert "more than is usual" in told


def test_a_set_of_which_none_is_free_is_not_offered(phone: Client) -> None:
    lot = Lot.objects.get(item__key="T01")
    ledger.promise(lot.pk, lot.on_hand - lot.reserved, NOW, "orders to come")
    screen = shelf_of(phone)
    assert all("T01" not in one for one in offers(screen))
    [row] = [said(one) for one in screen.root.iter("tr") if said(one).startswith("T01")]
    assert "It fits, and none is free." in row
    assert "Ordered" in row


def test_a_held_lot_is_not_offered_and_says_why(phone: Client) -> None:
    hold("T01")
    screen = shelf_of(phone)
    assert all("T01" not in one for one in offers(screen))
    [row] = [said(one) for one in screen.root.iter("tr") if said(one).startswith("T01")]
    assert "is held: Plating is spotted." in row
    assert "0 of 0" in row


def test_where_nothing_goes_the_page_says_how_sets_come_to_it(phone: Client) -> None:
    hold("T13")
    assert "None with a free piece." in shelf_of(phone, "FIRTH").words


def test_a_spec_that_is_not_open_has_no_shelf(phone: Client) -> None:
    assert phone.get("/fit/MOOR/shelf/").status_code == 404


@pytest.mark.parametrize("more", [0, 20])
def test_the_shelf_takes_ten_statements_for_any_number_of_sets(phone: Client, more: int) -> None:
    """Badge and rights, three of the specs, two of the kit, one of the sets, two of the stock."""
    add_sets(more)
    assert statements(phone, "/fit/TARN/shelf/") == 10


# --- who ---


@pytest.mark.parametrize(
    ("badge", "may"), [("P-01", True), ("P-41", True), ("P-11", False), ("P-25", False)]
)
def test_lead_and_clerk_ask_what_fits(badge: str, may: bool) -> None:
    phone = signed_in(badge)
    asked = ["/fit/", "/fit/sets/", "/fit/sets/list.csv", "/fit/TARN/shelf/"]
    assert [phone.get(one).status_code == 200 for one in asked] == [may] * 4


def test_only_who_may_set_a_limit_is_led_to_them(phone: Client) -> None:
    assert "Limits of TARN" in ask(phone, "TARN").links
    assert "Limits of TARN" not in ask(signed_in("P-41"), "TARN").links
