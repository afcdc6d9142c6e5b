"""Waves on the clerk's phone: chosen, shared between two, left and taken up again."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.stock import shelf
from shop.stock.models import Tray, Walk, Wave
from tests.bench.crowd import add_instruments
from tests.bench.screens import Screen, seen, signed_in
from tests.kitting.clerk import TOMORROW, bin_page, number, take_up, tap, unscanned

pytestmark = pytest.mark.usefixtures("today")


# Too great for any key, too long to be read at all, and figures of no decimal keypad.
NO_NUMBERS = [str(2**63), "9" * 4_400, "²", "٣"]


@pytest.fixture
def phone() -> Client:
    return signed_in("P-41")


def make(phone: Client, *serials: str, waves: str = "1") -> Screen:
    sent = {"tray": [str(number(one)) for one in serials], "waves": waves}
    return seen(phone.post("/waves/", sent, follow=True))


def chosen(screen: Screen) -> list[str]:
    boxes = [one for one in screen.root.iter("input") if one.get("type") == "checkbox"]
    serials = {str(one.pk): one.serial for one in Tray.objects.all()}
    return [serials[one.get("value", "")] for one in boxes if "checked" in one.attrib]


def test_every_tray_to_pick_is_proposed_for_the_wave(phone: Client) -> None:
    screen = seen(phone.get("/waves/"))
    assert screen.heading == "Waves for Tue 2031-03-04"
    assert chosen(screen) == ["Q-1065", "Q-1062", "Q-1063", "Q-1064"]  # the urgent one first


def test_no_more_are_proposed_than_a_cart_takes_urgent_ones_first(phone: Client) -> None:
    """12 trays a cart: common practice, no source."""
    add_instruments(20)
    Tray.objects.filter(serial="Q-20019").update(urgent=True)
    proposed = chosen(seen(phone.get("/waves/")))
    assert len(proposed) == 12
    assert proposed[:2] == ["Q-1065", "Q-20019"]


def test_one_wave_is_made_of_the_trays_chosen(phone: Client) -> None:
    screen = make(phone, "Q-1062", "Q-1063")
    assert screen.heading == "Wave 1 for Tue 2031-03-04"
    assert "12 of 12 lines to pick" in screen.words
    assert "2 trays, 0 lines short. The list for Tue closes in" in screen.words
    assert chosen(seen(phone.get("/waves/"))) == ["Q-1065", "Q-1064"]


def test_two_waves_halve_the_trays_chosen(phone: Client) -> None:
    make(phone, *TOMORROW, waves="2")
    found = [[one.serial for one in row.trays] for row in shelf.waves(Wave.objects.all()[0].day)]
    assert found == [["Q-1062", "Q-1063"], ["Q-1065", "Q-1064"]]


def test_where_one_of_two_waves_cannot_be_neither_is_made(phone: Client) -> None:
    make(phone, "Q-1063")
    make(phone, "Q-1062", "Q-1063", waves="2")
    assert Wave.objects.count() == 1


def test_a_tray_in_a_wave_already_is_refused_by_name(phone: Client) -> None:
    make(phone, "Q-1062")
    told = make(phone, "Q-1062", "Q-1063").of_class("finding-stop")[0]
    assert "In a wave already: Q-1062 (wave 1). Choose the others." in told
    assert chosen(seen(phone.get("/waves/"))) == ["Q-1065", "Q-1063", "Q-1064"]


def test_a_wave_of_nothing_is_told(phone: Client) -> None:
    assert "Choose a tray or more." in make(phone).of_class("finding-stop")[0]


def test_the_wave_says_who_has_each_walk_and_how_far_it_is(phone: Client) -> None:
    walk = take_up(phone, "Q-1062", "Q-1063")
    tap(phone, bin_page(phone, walk))
    other = seen(signed_in("P-01").get(f"/waves/{Wave.objects.get().pk}/"))
    assert "10 of 12 to pick · P-41 walks it" in other.words
    assert "Take it up here, walk 1" in other.buttons


def test_a_split_shows_two_walks_and_the_second_is_free_for_another(phone: Client) -> None:
    walk = take_up(phone, "Q-1062")
    screen = seen(phone.post(f"/walks/{walk}/split/", follow=True))
    assert "3 of 3 to pick · you walk it" in screen.words
    assert "3 of 3 to pick · nobody walks it yet" in screen.words
    other = signed_in("P-01")
    second = Walk.objects.latest("id").pk
    assert bin_page(other, second).heading == "Wave 1, walk 2"
    other.post(f"/walks/{second}/take/")
    assert bin_page(phone, walk).heading != bin_page(other, second).heading


def split_form(screen: Screen) -> tuple[str, dict[str, str]]:
    """The address and the fields of the first key that splits a walk."""
    forms = screen.root.iter("form")
    form = next(one for one in forms if one.get("action", "").endswith("/split/"))
    fields = {one.get("name", ""): one.get("value", "") for one in form.iter("input")}
    return form.get("action", ""), fields


def test_a_double_tap_on_split_splits_once_and_says_nothing(phone: Client) -> None:
    take_up(phone, "Q-1062")
    there, sent = split_form(seen(phone.get(f"/waves/{Wave.objects.get().pk}/")))
    for _ in range(2):
        screen = seen(phone.post(there, sent, follow=True))
    assert Walk.objects.count() == 2
    assert screen.of_class("finding-stop") == []


def test_a_walk_is_split_again_on_the_page_that_shows_the_first_split(phone: Client) -> None:
    take_up(phone, "Q-1062")
    screen = seen(phone.get(f"/waves/{Wave.objects.get().pk}/"))
    for walks in (2, 3):
        there, sent = split_form(screen)
        screen = seen(phone.post(there, sent, follow=True))
        assert Walk.objects.count() == walks


def test_a_walk_of_one_bin_is_not_split_and_says_so(phone: Client) -> None:
    walk = take_up(phone, "Q-1062")
    screen = bin_page(phone, walk)
    while shelf.stops_of(walk)[1:]:
        screen = tap(phone, screen)
    told = seen(phone.post(f"/walks/{walk}/split/", follow=True)).of_class("finding-stop")[0]
    assert "One bin cannot be shared" in told


def test_paused_on_one_phone_it_goes_on_at_the_same_bin_on_another(phone: Client) -> None:
    walk = take_up(phone, "Q-1062")
    next_bin = tap(phone, bin_page(phone, walk)).heading
    screen = seen(phone.post(f"/walks/{walk}/pause/", follow=True))
    assert "paused Mon 09:30 by P-41" in screen.words
    again = signed_in("P-41")
    left = bin_page(again, walk)
    assert left.words.startswith("Wave 1, walk 1 5 bins to go Paused Mon 09:30 by P-41.")
    assert "Resume here" in left.buttons
    assert seen(again.post(f"/walks/{walk}/take/", follow=True)).heading == next_bin


def test_taken_up_by_another_it_says_from_whom_and_stops_where_it_was(phone: Client) -> None:
    walk = take_up(phone, "Q-1062")
    there = unscanned(phone, bin_page(phone, walk))
    other = signed_in("P-01")
    took = seen(other.post(f"/walks/{walk}/take/", follow=True))
    assert "You have this walk from P-41 now." in took.of_class("finding-clear")[0]
    refused = tap(phone, there)
    assert "P-01 walks this now." in refused.of_class("finding-stop")[0]
    assert "P-01 walks it now. Taken up here, it goes on here and stops there." in refused.words


def test_every_key_of_a_wave_leads_where_it_says(phone: Client) -> None:
    walk = take_up(phone, "Q-1062")
    forms = list(seen(phone.get(f"/waves/{Wave.objects.get().pk}/")).root.iter("form"))
    actions = [one.get("action", "") for one in forms]
    own = [f"/walks/{walk}/{name}/" for name in ("take", "split", "pause")]
    assert [one for one in actions if one.startswith("/walks/")] == own
    jumps = f"/waves/{Wave.objects.get().pk}/add/"  # Q-1065 is urgent, and in no wave
    assert [one for one in actions if one.startswith("/waves/")] == [jumps]


def test_an_urgent_tray_jumps_into_the_wave_with_a_tap(phone: Client) -> None:
    make(phone, "Q-1062")
    Tray.objects.filter(serial="Q-1063").update(urgent=True)
    wave = Wave.objects.get().pk
    assert "Add Q-1063 to this wave" in seen(phone.get(f"/waves/{wave}/")).buttons
    sent = {"tray": str(number("Q-1063"))}
    screen = seen(phone.post(f"/waves/{wave}/add/", sent, follow=True))
    assert "12 of 12 to pick" in screen.words
    assert "Add Q-1063 to this wave" not in screen.buttons


@pytest.mark.parametrize("tray", ["", "0", "x", *NO_NUMBERS])
def test_a_tray_that_is_not_there_joins_no_wave(phone: Client, tray: str) -> None:
    make(phone, "Q-1062")
    wave = Wave.objects.get().pk
    screen = seen(phone.post(f"/waves/{wave}/add/", {"tray": tray}, follow=True))
    assert "is not here any more. Choose again." in screen.of_class("finding-stop")[0]


@pytest.mark.parametrize("tray", NO_NUMBERS)
def test_a_tray_that_is_no_number_makes_no_wave(phone: Client, tray: str) -> None:
    screen = seen(phone.post("/waves/", {"tray": tray}, follow=True))
    assert "Choose a tray or more." in screen.of_class("finding-stop")[0]
    assert Wave.objects.count() == 0


@pytest.mark.parametrize("figures", [str(2**31), *NO_NUMBERS[:2]], ids=["2^31", "2^63", "long"])
@pytest.mark.parametrize(
    "address",
    [
        "waves/{}/", "walks/{}/", "lots/{}/", "lots/{}/look/", "lots/{}/draw/", "lots/{}/make/",
        "counts/{}/", "lists/{}/", "lists/{}/read.csv", "used/{}/", "used/{}/list.csv",
    ],
)  # fmt: skip
def test_an_address_of_no_key_that_can_be_is_not_found(address: str, figures: str) -> None:
    phone = signed_in("P-01")
    assert phone.get(f"/{address.format(figures)}").status_code == 404


@pytest.mark.parametrize("number", [2**31, 2**63])
@pytest.mark.parametrize(
    "address",
    [
        "waves/{}/add/", "walks/{}/scan/", "walks/{}/pick/", "walks/{}/take/", "walks/{}/pause/",
        "walks/{}/split/", "lots/{}/", "lots/{}/hold/", "lots/{}/free/", "lots/{}/best-before/",
        "lots/{}/break/", "counts/{}/", "deliveries/{}/give-up/", "lists/{}/take/",
    ],
)  # fmt: skip
def test_a_key_that_cannot_be_is_told_or_not_found(address: str, number: int) -> None:
    phone = signed_in("P-01")
    assert phone.post(f"/{address.format(number)}").status_code in {302, 404}


def test_a_wave_or_walk_that_never_was_is_not_found(phone: Client) -> None:
    assert phone.get("/waves/0/").status_code == 404
    assert phone.get("/walks/0/").status_code == 404
    assert phone.post("/walks/0/pick/").status_code == 404
    told = seen(phone.post("/walks/0/take/", follow=True)).of_class("finding-stop")[0]
    assert "This walk is not here any more." in told


def test_an_operator_walks_no_bins(phone: Client) -> None:
    walk = take_up(phone, "Q-1062")
    operator = signed_in("P-11")
    assert operator.get("/waves/").status_code == 403
    assert operator.post(f"/walks/{walk}/take/").status_code == 403
