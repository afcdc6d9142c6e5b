"""The lead's desk for what waits for the lead, one instrument at a time.

What is asked here is common practice, no source.
"""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from shop.catalogue import revising
from shop.catalogue.models import SpecRevision
from shop.floor import board, claims, door
from shop.floor.models import Entry, Neck, Step
from shop.stock.models import Lot
from tests.bench.screens import Screen, said, seen, signed_in
from tests.floor.morning import NOW, act, now
from tests.floor.test_claims import DAY, called
from tests.people.phones import Clock

pytestmark = pytest.mark.usefixtures("today")

PAIR = "Q-1050"  # with K-2088, its tray closed
WHY = "Looked at it twice"


@pytest.fixture
def desk() -> Client:
    return signed_in("P-01")


def look(desk: Client, *path: str, **asked: str) -> Screen:
    return seen(desk.get("/" + "".join(f"{one}/" for one in ("settle", *path)), asked))


def send(desk: Client, serial: str, name: str, **sent: str) -> Screen:
    """Fill a matter in and tap its button; where it asks once more, nothing is done yet."""
    kept = {"key": str(uuid.uuid4()), "own": WHY} | sent
    return seen(desk.post(f"/settle/{serial}/{name}/", kept, follow=True))


def hidden(screen: Screen) -> dict[str, str]:
    found = screen.root.findall(".//form[@method='post']/input[@type='hidden']")
    fields = {one.get("name", ""): one.get("value", "") for one in found}
    fields.pop("csrfmiddlewaretoken", None)
    return fields


def surely(desk: Client, serial: str, name: str, **sent: str) -> Screen:
    """Fill it in and tap the button of the page that asks once more as well."""
    asked = send(desk, serial, name, **sent)
    assert "This cannot be undone" in asked.words, asked.words
    return seen(desk.post(f"/settle/{serial}/{name}/", hidden(asked), follow=True))


def rows() -> int:
    return Entry.objects.count()


def last() -> Entry:
    return Entry.objects.latest("pk")


def freeze(serial: str = "Q-1043", why: str = "Heel split seen") -> None:
    assert door.record(act("P-31", "I"), door.Frozen(now(serial).id, why)).done


def doubt(serial: str, operation: str) -> int:
    steps = Step.objects.filter(instrument__body__serial=serial, operation__code=operation)
    steps.update(doubt="recorded late, not measured")
    return steps.get().seq


def part(fate: Any = "scrap") -> None:
    deed = door.PairBroken(now(PAIR).id, fate)
    assert door.record(act("P-01", "", reason="Heel split"), deed).done


def headings(screen: Screen) -> list[str]:
    return [said(one) for one in screen.root.iter("h2")]


# --- the list ---


def test_a_quiet_floor_says_what_would_come_here(desk: Client) -> None:
    assert "Nothing waits for you." in look(desk).words


def test_all_that_waits_for_the_lead_stands_on_one_list_each_a_tap_away(
    desk: Client, today: Clock
) -> None:
    freeze()
    doubt("Q-1041", "N10")
    part()
    loop = door.DefectFound(now("Q-1037").id, "lift", "bridge lift", "I10", "rear edge")
    assert door.record(act("P-22", "I"), loop).done
    assert door.record(act("P-14", "B"), door.StepStarted(now("Q-1058").id, "B20")).done
    today.now += timedelta(days=3)
    screen = look(signed_in("P-01"))
    assert headings(screen) == [
        "Frozen: 1",
        "To confirm or strike: 1",
        "Without a neck: 1",
        "On rework: 1",
        "Begun and open: 1",
    ]
    assert "Q-1043 Heel split seen by P-31, Mon 09:30, 3 days ago" in screen.words
    assert "Q-1041 N10: recorded late, not measured" in screen.words
    assert "Q-1050 Heel split" in screen.words
    assert "Q-1037 bridge lift: lift, rear edge. At Repair. since Mon 09:30, 3 days" in screen.words
    assert "Q-1058 B20 of P-14" in screen.words
    hrefs = set(screen.links.values())
    for serial in ("Q-1043", "Q-1041", PAIR, "Q-1037", "Q-1058"):
        assert f"/settle/{serial}/" in hrefs


def test_an_unknown_cut_stands_on_the_list_until_somebody_has_looked(desk: Client) -> None:
    assert door.record(act("P-16", "J"), door.StepStarted(now("Q-1061").id, "J10")).done
    at = NOW + timedelta(minutes=20)
    assert door.record(act("P-01", "", at), door.PowerCut(NOW + timedelta(minutes=5), at)).done
    assert headings(look(desk)) == ["Cut unknown after the power went: 1"]
    assert "Somebody looks at the cut" in look(desk, "Q-1061").words
    assert door.record(act("P-16", "J", at), door.CutSeen(now("Q-1061").id, "whole")).done
    assert headings(look(desk)) == ["Begun and open: 1"]


def test_a_claim_sent_today_stands_on_the_list_however_long_ago_it_was_tapped(
    desk: Client,
) -> None:
    called("Heel split", NOW - 15 * DAY)
    screen = look(desk)
    assert "Claimed on a phone: 1" in headings(screen)
    assert "badge P-11 was claimed without the network" in screen.words
    assert "more, sent earlier" not in screen.words


def test_claims_that_have_no_room_on_the_list_are_counted(
    desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(claims, "MOST", 1)
    for days in (1, 2, 3):
        called("Heel split", NOW - 15 * DAY, NOW - days * DAY)
    screen = look(desk)
    assert "Claimed on a phone: 3" in headings(screen)
    assert screen.words.count("was claimed without the network") == 1
    assert "And 2 more, sent earlier." in screen.words


def test_the_list_asks_as_much_for_many_as_for_one(
    desk: Client, django_assert_max_num_queries: Any
) -> None:
    for serial in ("Q-1043", "Q-1058", PAIR, "Q-1061", "Q-1044"):
        freeze(serial)
        doubt(serial, "N10") if serial != "Q-1044" else None
    look(desk)
    with django_assert_max_num_queries(10):  # badge, rights, and the lists
        look(desk)


def test_the_way_to_the_list_is_on_every_page_of_the_lead_alone(desk: Client) -> None:
    assert look(desk).links["Settle"] == "/settle/"
    assert "Settle" not in seen(signed_in("P-11").get("/scan/")).links


# --- one instrument ---


def test_one_instrument_says_what_waits_and_what_can_be_done(desk: Client) -> None:
    freeze()
    screen = look(desk, "Q-1043")
    assert "Frozen Heel split seen by P-31" in screen.words
    assert screen.links["Free it"] == "/settle/Q-1043/free/"
    assert "Name its new neck" not in screen.links
    assert screen.links["Scrap it"] == "/settle/Q-1043/scrap/"


def test_an_instrument_that_is_not_here_is_not_found(desk: Client) -> None:
    assert desk.get("/settle/Q-9999/").status_code == 404
    assert desk.get("/settle/Q-1043/paint/").status_code == 404


@pytest.mark.parametrize("badge", ["P-11", "P-31", "P-41", "P-61", "P-25"])
def test_nobody_but_the_lead_settles_anything(badge: str) -> None:
    phone = signed_in(badge)
    freeze()
    for path in ("/settle/", "/settle/Q-1043/", "/settle/Q-1043/free/"):
        assert phone.get(path).status_code == 403
    assert send(phone, "Q-1043", "free").answer.status_code == 403
    assert now("Q-1043").frozen is not None


def test_what_there_is_not_to_settle_leads_back(desk: Client) -> None:
    screen = seen(desk.get("/settle/Q-1043/free/", follow=True))
    assert "Q-1043: nothing to do under “Free it” any more." in screen.words


# --- reasons ---


def test_a_reason_is_tapped(desk: Client) -> None:
    freeze()
    tapped = "Both block marks read: it is itself"
    send(desk, "Q-1043", "free", own="", why=tapped)
    assert (last().kind, last().reason) == ("freed", tapped)


def test_a_reason_is_written_or_added_to_the_one_tapped(desk: Client) -> None:
    freeze()
    send(desk, "Q-1043", "free", own="with P-31", why="The right neck is back beside it")
    assert last().reason == "The right neck is back beside it: with P-31"


def test_without_a_reason_nothing_is_done_and_nothing_is_lost(desk: Client) -> None:
    freeze()
    before = rows()
    screen = send(desk, "Q-1043", "free", own="")
    assert "Tap why, or write another reason." in screen.words
    assert rows() == before


def test_a_reason_that_is_no_tap_of_the_page_is_said(desk: Client) -> None:
    freeze()
    screen = send(desk, "Q-1043", "free", own="", why="Because")
    assert "Tap one of the list." in screen.words
    assert now("Q-1043").frozen is not None


# --- free ---


def test_a_frozen_instrument_is_freed_and_says_so(desk: Client) -> None:
    freeze()
    screen = send(desk, "Q-1043", "free")
    assert "Q-1043 is free: work on it goes on." in screen.words
    assert now("Q-1043").frozen is None


def test_a_second_tap_frees_nothing_twice(desk: Client) -> None:
    freeze()
    key = str(uuid.uuid4())
    send(desk, "Q-1043", "free", key=key)
    before = rows()
    assert send(desk, "Q-1043", "free", key=key).answer.status_code == 200
    assert rows() == before


# --- records in doubt ---


def test_a_record_in_doubt_is_confirmed(desk: Client) -> None:
    seq = doubt("Q-1043", "N10")
    screen = look(desk, "Q-1043")
    to = screen.links["Confirm N10"]
    assert to == f"/settle/Q-1043/confirm/?row={seq}"
    chosen = seen(desk.get(to)).one(".//input[@name='row'][@checked]")
    assert chosen.get("value") == str(seq)
    assert "N10 of Q-1043 is confirmed." in send(desk, "Q-1043", "confirm", row=str(seq)).words
    assert board.doubtful(now("Q-1043").id) == []


def test_a_record_is_struck_only_once_it_is_sure(desk: Client) -> None:
    seq = doubt("Q-1043", "N30")
    before = rows()
    asked = send(desk, "Q-1043", "strike", row=str(seq))
    assert "N30 of Q-1043 counts no more; the history keeps it as struck." in asked.words
    assert f"Why: {WHY}" in asked.words
    assert rows() == before
    done = seen(desk.post("/settle/Q-1043/strike/", hidden(asked), follow=True))
    assert "N30 of Q-1043 is struck and open again." in done.words
    assert "N30" not in now("Q-1043").done_codes


def test_what_cannot_be_struck_is_said_and_the_form_is_still_filled(desk: Client) -> None:
    seq = next(one.seq for one in now(PAIR).done if one.operation == "J10")
    screen = surely(desk, PAIR, "strike", row=str(seq))
    assert "Break the pair instead." in screen.words
    assert screen.one(".//input[@name='own']").get("value") == WHY


def test_a_record_has_to_be_chosen(desk: Client) -> None:
    assert "Which record: tap one." in send(desk, "Q-1043", "strike").words


# --- mixed tags ---


def test_mixed_tags_freeze_both_and_say_first_what_comes_in_doubt(desk: Client) -> None:
    steps = [one for one in board.journal(now("Q-1043").id) if one["kind"] == "step"]
    since = steps[0]["at"].isoformat()
    asked = send(desk, "Q-1043", "mixed", other="Q-1058", since=since)
    assert "Q-1043 and Q-1058 are frozen: read both block marks." in asked.words
    assert f"Q-1043: {steps[0]['data']['operation']}" in asked.words
    seen(desk.post("/settle/Q-1043/mixed/", hidden(asked), follow=True))
    assert now("Q-1043").frozen is not None
    assert now("Q-1058").frozen is not None
    assert [one.seq for one in board.doubtful(now("Q-1043").id)][-1] == steps[0]["seq"]


def test_the_last_records_are_offered_as_the_moment(desk: Client) -> None:
    words = look(desk, "Q-1043", "mixed").words
    assert "just before N30 was recorded," in words


def test_another_moment_is_given_by_the_clock(desk: Client) -> None:
    surely(desk, "Q-1043", "mixed", other="Q-1058", since_at="2031-03-03T08:00")
    assert Entry.objects.get(kind="mixed").data["since"].startswith("2031-03-03T08:00")


@pytest.mark.parametrize(
    ("sent", "fault"),
    [
        ({}, "Choose the other guitar."),
        ({"other": "Q-1043"}, "Q-1043 is not on the floor any more."),
        ({"other": "Q-1058"}, "Tap until when both hung right, or give another moment."),
        ({"other": "Q-1058", "since_at": "at eight"}, "Give day and time, as 2031-03-14 09:30."),
    ],
)
def test_what_is_missing_of_mixed_tags_is_said(
    desk: Client, sent: dict[str, str], fault: str
) -> None:
    assert fault in send(desk, "Q-1043", "mixed", **sent).words
    assert not Entry.objects.filter(kind="mixed").exists()


# --- the pair ---


def test_a_pair_is_broken_once_it_is_said_what_is_done_again(desk: Client) -> None:
    asked = send(desk, PAIR, "pair", fate="scrap")
    assert f"K-2088 parts from {PAIR} and is scrap." in asked.words
    assert "Done again with another neck: N10, N20, N30, N40, N50, N60 and J10." in asked.words
    assert now(PAIR).neck == "K-2088"
    screen = seen(desk.post(f"/settle/{PAIR}/pair/", hidden(asked), follow=True))
    assert f"K-2088 is off {PAIR}." in screen.words
    assert now(PAIR).neck is None
    assert Neck.objects.get(serial="K-2088").scrapped_at == NOW


def test_what_is_left_to_do_by_hand_is_said_with_it(desk: Client) -> None:
    assert (
        f"Give the tray of {PAIR} back to kitting" in surely(desk, PAIR, "pair", fate="store").words
    )


def test_a_new_neck_is_named_of_those_in_store(desk: Client) -> None:
    part()
    assert "No neck made as HOLM is in store." in look(desk, PAIR, "neck").words
    arrival = door.PartArrived("neck", "K-2091", "HOLM")
    assert door.record(act("P-01", ""), arrival).done
    other = door.PartArrived("neck", "K-2192", "TARN")
    assert door.record(act("P-01", ""), other).done
    offered = look(desk, PAIR, "neck").words
    assert "K-2091" in offered
    assert "K-2192" not in offered
    assert f"K-2091 is the neck of {PAIR}." in send(desk, PAIR, "neck", neck="K-2091").words
    assert now(PAIR).neck == "K-2091"


# --- waits ---


def test_a_wait_is_lengthened_by_taps(desk: Client) -> None:
    words = look(desk, "Q-1043", "longer").words
    assert "hold: 96 h" in words
    screen = send(desk, "Q-1043", "longer", clock="hold", hours="24")
    assert "hold of Q-1043 is 24 h longer." in screen.words
    assert now("Q-1043").longer == {"hold": timedelta(hours=24)}
    assert "hold: 96 h, 24 h longer by now" in look(desk, "Q-1043", "longer").words


def test_a_wait_takes_other_hours_too(desk: Client) -> None:
    send(desk, "Q-1043", "longer", clock="oil", other_hours="36")
    assert now("Q-1043").longer == {"oil": timedelta(hours=36)}


@pytest.mark.parametrize(
    ("sent", "fault"),
    [
        ({"hours": "24"}, "Which wait: tap one."),
        ({"clock": "hold"}, "Longer by: tap one, or give the hours."),
        ({"clock": "hold", "hours": "24", "other_hours": "3"}, "Hours are given twice."),
        ({"clock": "hold", "other_hours": "1.5"}, "Give whole hours, as 36."),
        ({"clock": "hold", "other_hours": "-2"}, "a wait is made longer, never shorter."),
        ({"clock": "hold", "other_hours": "0"}, "a wait is made longer, never shorter."),
        ({"clock": "hold", "other_hours": "9999"}, "720 h is most."),
    ],
)
def test_a_wait_that_cannot_be_so_is_said(desk: Client, sent: dict[str, str], fault: str) -> None:
    assert fault in send(desk, "Q-1043", "longer", **sent).words
    assert now("Q-1043").longer == {}


# --- the revision ---


def renewed(**differs: Any) -> int:
    last_one = SpecRevision.objects.get(spec__key="TARN", state="open")
    draft = revising.next_draft(last_one)
    SpecRevision.objects.filter(pk=draft.pk).update(**differs)
    revising.open_revision(SpecRevision.objects.get(pk=draft.pk))
    return draft.pk


def test_the_open_revision_says_what_changes_before_it_is_moved(desk: Client) -> None:
    assert "Move it to the open revision" not in look(desk, "Q-1043").links
    to = renewed(hold_h=120, relief_mm="0.22", tension_limit_n=1111)
    words = look(desk, "Q-1043", "revision").words
    assert "It is built to TARN revision 1 now." in words
    assert "Wait hold: 96 h becomes 120 h." in words
    assert "becomes 0.22 mm." in words
    assert "Tension limit, N: 830 becomes 1111." in words
    surely(desk, "Q-1043", "revision")
    assert now("Q-1043").revision_id == to


def test_a_revision_that_changes_nothing_says_so(desk: Client) -> None:
    renewed()
    assert (
        "Nothing that is built, measured or waited for differs."
        in look(desk, "Q-1043", "revision").words
    )


# --- scrap ---


def test_scrap_says_what_comes_off_and_what_is_not_whole(desk: Client) -> None:
    parts = board.comes_off(now(PAIR))
    sent = {f"off_{one.item_id}": str(one.quantity) for one in parts}
    sent |= {f"whole_{one.item_id}": "on" for one in parts[1:]}
    asked = send(desk, PAIR, "scrap", **sent)
    first = parts[0]
    assert f"{PAIR} and its neck K-2088 are scrap" in asked.words
    assert f"Not whole, so not kept: {first.quantity} × {first.article.key}." in asked.words
    assert not now(PAIR).ended
    screen = seen(desk.post(f"/settle/{PAIR}/scrap/", hidden(asked), follow=True))
    assert f"{PAIR} is scrap." in screen.words
    assert now(PAIR).ended == WHY
    kept = set(Lot.objects.filter(code=f"off {PAIR}").values_list("item_id", flat=True))
    assert kept == {one.item_id for one in parts[1:]}


@pytest.mark.parametrize("fate", ["store", "scrap"])
def test_a_neck_that_was_not_paired_yet_stays_unless_it_is_said_otherwise(
    desk: Client, fate: str
) -> None:
    one = "Q-1061"  # its neck K-2095 waits for the cut
    screen = look(desk, one, "scrap")
    assert "K-2095 was not paired yet. It goes" in screen.words
    taps = [it for it in screen.root.iter("input") if it.get("name") == "neck"]
    assert [it.get("value") for it in taps if "checked" in it.attrib] == ["store"]
    sent = {f"off_{it.item_id}": "0" for it in board.comes_off(now(one))}
    asked = send(desk, one, "scrap", neck=fate, **sent)
    stays = "K-2095 goes back to the store, its tag on: another body can get it."
    assert (stays in asked.words) is (fate == "store")
    assert (f"{one} and its neck K-2095 are scrap" in asked.words) is (fate == "scrap")
    desk.post(f"/settle/{one}/scrap/", hidden(asked))
    assert now(one).ended == WHY
    assert (Neck.objects.get(serial="K-2095").scrapped_at is None) is (fate == "store")


def test_every_part_is_whole_and_comes_off_unless_it_is_said_otherwise(desk: Client) -> None:
    screen = look(desk, PAIR, "scrap")
    parts = board.comes_off(now(PAIR))
    ticks = [one for one in screen.root.iter("input") if one.get("type") == "checkbox"]
    assert len(ticks) == len(parts)
    assert all("checked" in one.attrib for one in ticks)
    chosen = [one.get("value") for one in screen.root.iter("option") if "selected" in one.attrib]
    assert chosen == [str(one.quantity) for one in parts]


def test_nothing_but_words_is_left_to_settle_about_scrap(desk: Client) -> None:
    sent = {f"off_{one.item_id}": "0" for one in board.comes_off(now(PAIR))}
    surely(desk, PAIR, "scrap", **sent)
    screen = look(desk, PAIR)
    assert f"Scrap {WHY}" in screen.words
    assert [one for one in screen.links.values() if one.startswith(f"/settle/{PAIR}/")] == [
        f"/settle/{PAIR}/remark/"
    ]


def test_more_than_was_put_on_is_not_to_choose(desk: Client) -> None:
    [first, *rest] = board.comes_off(now(PAIR))
    sent = {f"off_{one.item_id}": "0" for one in rest}
    screen = send(desk, PAIR, "scrap", **sent, **{f"off_{first.item_id}": "99"})
    assert screen.of_class("finding-stop")
    assert not now(PAIR).ended


# --- a remark ---


def test_a_remark_stands_beside_the_record_it_is_about(desk: Client) -> None:
    seq = now("Q-1043").seq
    screen = send(desk, "Q-1043", "remark", row=str(seq), words="It was B30, not B20")
    assert f"Your remark stands beside row {seq} of Q-1043." in screen.words
    row = last()
    assert (row.kind, row.data["words"]) == ("remark", "It was B30, not B20")
    assert row.corrects == Entry.objects.get(instrument_id=now("Q-1043").id, seq=seq)


def test_a_remark_on_an_old_record_is_offered_by_its_address(desk: Client) -> None:
    chosen = look(desk, "Q-1043", "remark", row="1").one(".//input[@name='row'][@checked]")
    assert chosen.get("value") == "1"
    assert "beside row 1 of" in send(desk, "Q-1043", "remark", row="1", words="So it was").words


@pytest.mark.parametrize(
    ("words", "fault"), [("", "Say what it should tell."), ("x" * 201, "201 characters; 200")]
)
def test_a_remark_without_room_or_words_is_said(desk: Client, words: str, fault: str) -> None:
    screen = send(desk, "Q-1043", "remark", row=str(now("Q-1043").seq), words=words)
    assert fault in screen.words
    assert not Entry.objects.filter(kind="remark").exists()


def test_each_part_that_comes_off_is_named_by_its_key(desk: Client) -> None:
    words = look(desk, PAIR, "scrap").words
    assert all(one.article.key in words for one in board.comes_off(now(PAIR)))
