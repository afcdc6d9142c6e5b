"""The pages of seeded panels: seeded by the lead, called one a screen, told of both together.
Panels and calls are invented; that 80 % are wanted of 20 panels: common practice, no source."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest
from django.test import Client

from shop.floor import panels as kept_panels
from shop.floor.models import Entry, Panel, PanelCall, PanelSet
from tests.bench.screens import Screen, key, said, seen, signed_in
from tests.floor.seeded import MANY, A, B, call, call_all, seed

pytestmark = pytest.mark.usefixtures("today")

THIN = "\u202f"
BADGE = re.compile(r"\bP-\d\d\b")


@pytest.fixture
def lead() -> Client:
    return signed_in("P-01")


@pytest.fixture
def inspector() -> Client:
    return signed_in("P-31")


def look(phone: Client, path: str) -> Screen:
    answer = phone.get(path)
    assert answer.status_code == 200
    return seen(answer)


def send(phone: Client, panel: int, found: str, **more: str) -> Any:
    form = {"key": key(), "panel": str(panel), "found": found} | more
    return phone.post("/panels/1/", form)


def rows(screen: Screen) -> list[str]:
    return [said(one).replace(THIN, " ") for one in screen.root.iter("tr")]


def test_what_came_of_a_set_is_told_however_many_came_after(
    lead: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    seed()
    call_all(A, "P-31")
    call_all(B, "P-32")
    seed(words="31-04")
    monkeypatch.setattr(kept_panels, "SHOWN", 1)
    listed = look(lead, "/panels/").links.values()
    assert "/panels/2/results/" in listed
    assert "/panels/1/results/" not in listed
    before = look(lead, "/panels/1/results/").words
    assert "31-03" in before
    assert "Kappa" in before
    assert lead.get("/panels/1/results/list.csv").status_code == 200
    assert lead.get("/panels/3/results/").status_code == 404


# --- seeded ---


def test_before_there_are_any_the_page_says_how_they_come_to_be(
    lead: Client, inspector: Client
) -> None:
    screen = look(lead, "/panels/")
    assert "No panels yet." in screen.words
    assert screen.links["Seed a new set"] == "/panels/seed/"
    theirs = look(inspector, "/panels/")
    assert "No panels to look at. The lead seeds some." in theirs.words
    assert "Seed a new set" not in theirs.links


def test_the_lead_says_what_is_on_each_panel(lead: Client) -> None:
    form = {"key": key(), "panels": "3", "words": "Gloss, March"}
    form |= {"defect-1": "finish/chip", "field-1": "upper left", "field-2": "middle"}
    form |= {"defect-3": "joint/gap", "field-3": "lower right"}
    answer = lead.post("/panels/seed/", form, follow=True)
    assert "3 panels are seeded. Two inspectors look at them now." in seen(answer).words
    assert PanelSet.objects.get().words == "Gloss, March"
    assert list(Panel.objects.order_by("number").values_list("spots", flat=True)) == [
        [["upper left", "finish", "chip"]], [], [["lower right", "joint", "gap"]],
    ]  # fmt: skip


def test_a_set_that_is_refused_keeps_what_was_chosen(lead: Client) -> None:
    form = {"key": key(), "panels": "2", "words": "", "defect-1": "finish/chip"}
    screen = seen(lead.post("/panels/seed/", form))
    assert "What panels they are takes 1 to 60 letters in one line." in screen.words
    chosen = screen.root.find(".//select[@name='defect-1']//option[@selected]")
    assert chosen is not None
    assert chosen.get("value") == "finish/chip"
    assert not PanelSet.objects.exists()


def test_what_a_form_cannot_hold_is_refused_in_words(lead: Client) -> None:
    form = {"key": key(), "panels": "2", "words": "x", "defect-1": "fret/high", "field-1": "\0"}
    screen = seen(lead.post("/panels/seed/", form))
    assert "Panel 1: no panel has such a defect in such a place." in screen.words


@pytest.mark.parametrize(
    ("asked", "count"), [("", 20), ("2", 2), ("60", 60), ("61", 60), ("0", 2), ("many", 20)]
)
def test_a_form_has_as_many_panels_as_are_asked_for(lead: Client, asked: str, count: int) -> None:
    screen = look(lead, f"/panels/seed/?panels={asked}")
    assert len(list(screen.root.iter("legend"))) == count


# --- called ---


def test_an_inspector_is_led_to_a_set_and_calls_it_panel_by_panel(inspector: Client) -> None:
    seed()
    assert look(inspector, "/panels/").links["Look at set 1"] == "/panels/1/"
    screen = look(inspector, "/panels/1/")
    assert screen.heading == "Panel 1"
    assert {"Found", "Nothing wrong"} <= set(screen.buttons)
    answer = send(inspector, 1, "yes")
    assert (answer.status_code, answer["Location"]) == (302, "/panels/1/")
    screen = look(inspector, "/panels/1/")
    assert screen.heading == "Panel 2"
    assert "1 of 20 called" in screen.words
    assert look(inspector, "/panels/").links["Go on with set 1"] == "/panels/1/"


def test_the_page_of_a_panel_tells_nothing_of_what_is_on_it(inspector: Client) -> None:
    seed()
    call_all(B, "P-32")
    told = [look(inspector, f"/panels/1/?panel={n}").words for n in (1, 8, 20)]
    bare = {re.sub(r"Panel \d+", "Panel", one) for one in told}
    assert len(bare) == 1  # with a defect, with two, and with none


def test_a_call_may_be_changed_until_the_last(inspector: Client) -> None:
    seed()
    send(inspector, 1, "yes")
    screen = look(inspector, "/panels/1/?panel=1")
    assert screen.heading == "Panel 1"
    assert "You called: found. Tap again to change it." in screen.words
    send(inspector, 1, "no")
    assert PanelCall.objects.get().found is False


def test_after_the_last_panel_the_page_says_so(inspector: Client) -> None:
    seed()
    call_all(A, "P-31")
    screen = look(inspector, "/panels/1/")
    assert "You called all 20 panels." in screen.words
    assert "Found" not in screen.buttons
    assert "You have called all of them." in look(inspector, "/panels/").words


def test_the_same_form_sent_twice_is_one_call(inspector: Client) -> None:
    seed()
    once = key()
    for _ in range(2):
        assert send(inspector, 1, "yes", key=once).status_code == 302
    assert Entry.objects.filter(kind="panel call").count() == 1


def test_whoever_may_not_call_is_told_why(lead: Client, inspector: Client) -> None:
    seed()
    screen = look(lead, "/panels/1/")
    assert "You put the defects on these: two others look at them." in screen.words
    assert "Found" not in screen.buttons
    refused = seen(send(lead, 1, "yes"))
    assert "You put the defects on these panels: you know what is there." in refused.words
    call(1, by="P-32")
    send(inspector, 1, "yes")
    assert PanelCall.objects.count() == 2


@pytest.mark.parametrize("form", [{"panel": "x"}, {"found": "maybe"}, {"panel": ""}, {"found": ""}])
def test_a_form_that_says_nothing_records_nothing(inspector: Client, form: dict[str, str]) -> None:
    seed()
    answer = inspector.post("/panels/1/", {"key": key(), "panel": "1", "found": "yes"} | form)
    assert seen(answer).heading == "Panel 1"
    assert not PanelCall.objects.exists()


def test_a_set_that_there_is_not_has_no_page(lead: Client, inspector: Client) -> None:
    assert inspector.get("/panels/7/").status_code == 404
    assert lead.get("/panels/7/results/").status_code == 404
    assert lead.post("/panels/7/away/", {"key": key()}).status_code == 404


# --- what came of it ---


def test_before_both_are_done_the_lead_is_told_how_far_they_are_and_no_more(lead: Client) -> None:
    seed()
    call_all(A, "P-31")
    screen = look(lead, "/panels/1/results/")
    assert "A has called 20 of 20. B has called 0 of 20." in screen.words
    assert "Until then nobody is told what either called." in screen.words
    assert "Kappa" not in screen.words
    assert "chip" not in screen.words


def test_the_lead_is_told_agreement_kappa_misses_and_false_alarms(lead: Client) -> None:
    """Worked by hand: 17 of 20 is 85 %, Wilson's interval 64.0 to 94.8 %; kappa 0.32 / 0.47 is
    0.68. A missed 1 of 8 and called 1 of 12 that had none."""
    seed()
    call_all(A, "P-31")
    call_all(B, "P-32")
    screen = look(lead, "/panels/1/results/")
    told = rows(screen)
    assert "17 of 20 panels called the same." in screen.words
    assert "At least 80 % agreement is wanted, of all panels" in screen.words
    assert "Called the same 17 of 20 panels" in told
    assert "Agreement 85.0 %, between 64.0 % and 94.8 % with 95 % confidence" in told
    assert any(one.startswith("Kappa, after Cohen 0.68, between 0.") for one in told)
    assert "A 1 of 8 defects, 12.5 % 1 of 12 without one, 8.3 %" in told
    assert "B 1 of 8 defects, 12.5 % 0 of 12 without one, 0.0 %" in told
    assert "7 chip, upper left found nothing wrong B missed it." in told
    assert "9 nothing found nothing wrong A called one where none is." in told
    assert look(lead, "/panels/").links["What came of it, set 1"] == "/panels/1/results/"


def test_who_called_what_is_told_to_nobody(lead: Client) -> None:
    seed()
    call_all(A, "P-31")
    call_all(B, "P-32")
    for path in ("/panels/", "/panels/1/results/"):
        assert BADGE.findall(look(lead, path).words) == []
    assert BADGE.findall(lead.get("/panels/1/results/list.csv").content.decode()) == []


def test_what_came_of_it_comes_as_csv(lead: Client) -> None:
    seed()
    call_all(A, "P-31")
    answer = lead.get("/panels/1/results/list.csv")
    assert list(csv.DictReader(io.StringIO(answer.content.decode()))) == []
    call_all(B, "P-32")
    answer = lead.get("/panels/1/results/list.csv")
    table = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert len(table) == MANY
    assert table[7] == {
        "panel": "8", "on it": "gap, middle; chip, upper left", "A": "nothing wrong", "B": "found",
    }  # fmt: skip


def test_a_set_is_put_away_and_still_told(lead: Client, inspector: Client) -> None:
    seed()
    screen = seen(lead.post("/panels/1/away/", {"key": key()}, follow=True))
    assert "Set 1 is put away." in screen.words
    assert look(lead, "/panels/1/results/").heading == "Set 1: 31-03"
    assert "These panels are put away." in look(inspector, "/panels/1/").words


def test_only_the_lead_seeds_and_is_told_and_only_inspectors_call() -> None:
    seed()
    calls, told = ("/panels/1/",), ("/panels/seed/", "/panels/1/results/")
    inspector, operator = signed_in("P-32"), signed_in("P-11")
    assert [inspector.get(path).status_code for path in calls] == [200]
    assert [inspector.get(path).status_code for path in told] == [403, 403]
    assert [operator.get(path).status_code for path in (*calls, *told, "/panels/")] == [403] * 4
