"""What a phone kept and sends: done exactly once, at its own moment, under its own badge.

The behaviour is that of draft-ietf-httpapi-idempotency-key-header-07 (IETF, 2025); its
sections are named beside each check, their numbers from memory. One thing is ours on purpose:
a request that comes while its twin is under way waits for the twin's answer and gets it.
"""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError
from django.test import Client

from shop.floor import board
from shop.floor.demo.loading import pin_of
from shop.floor.models import Entry, Step
from shop.floor.verifying import verify
from shop.people import badges
from shop.people.models import Badge
from shop.phone import once, who
from shop.stock import ledger, shelf
from tests.bench.conftest import today
from tests.bench.screens import key, signed_in, tag
from tests.floor.morning import NOW, _fresh, morning, now, put, ready_for
from tests.kitting.checker import sent_later
from tests.kitting.clerk import code, line
from tests.people.phones import Clock

__all__ = ["_fresh", "morning", "today"]
pytestmark = pytest.mark.usefixtures("today")

HOUR = timedelta(hours=1)
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def phone() -> Client:
    return signed_in("P-11")


def iso(moment: datetime) -> str:
    return moment.isoformat()


def send(
    phone: Client,
    serial: str = "Q-1055",
    operation: str = "N30",
    by: str = "",
    badge: str = "P-11",
    waited: timedelta = timedelta(),
    skew: timedelta = timedelta(),
    offset: timedelta | None = None,
    proof: str = "",
    accept: str = "application/json",
    station: str = "N",
    path: str = "record",
    at: datetime = NOW,
    claimed: bool = False,
    **more: Any,
) -> Any:
    """What the outbox sends: tapped so long ago, on a clock that is off by ``skew``."""
    by = by or key()
    off = -skew if offset is None else offset
    headers = {
        "Idempotency-Key": f'"{by}"',
        "Accept": accept,
        "X-Phone-Badge": badge,
        "X-Phone-Proof": proof,
        "X-Phone-Station": station,
        "X-Phone-Sent": iso(at + skew),
        "X-Phone-Offset": str(round(off / timedelta(milliseconds=1))),
    } | ({"X-Phone-Claimed": "1"} if claimed else {})
    fields = {"key": by, "operation": operation, "clock": iso(at - waited + skew)} | more
    return phone.post(f"/{tag(serial)}/{path}/", fields, headers=headers)


def told(answer: Any) -> dict[str, Any]:
    said: dict[str, Any] = json.loads(answer.content)
    return said


def row(by: str) -> Entry:
    return Entry.objects.get(key=by)


# --- once ---


def test_a_new_key_is_done_and_told(phone: Client) -> None:
    """Section 2.6: a first request is processed as usual."""
    by = key()
    answer = send(phone, by=by)
    assert (answer.status_code, answer["X-Outcome"]) == (200, "recorded")
    assert (row(by).outcome, row(by).source) == ("recorded", "live")


def test_the_same_key_again_gets_the_stored_answer_and_does_nothing(phone: Client) -> None:
    """Section 2.6: a repeated request gets the result of the one that was completed."""
    by = key()
    send(phone, by=by)
    rows = Entry.objects.count()
    again = send(phone, by=by)
    assert (again.status_code, again["X-Outcome"]) == (200, "already")
    assert again["X-Next"] == f"/{tag('Q-1055')}"
    assert Entry.objects.count() == rows


def test_a_refusal_is_stored_and_told_again(phone: Client) -> None:
    """Section 2.6, for an outcome that is an error: the same error comes again."""
    by = key()
    first, again = (told(send(phone, operation="N60", by=by)) for _ in range(2))
    assert first["outcome"] == again["outcome"] == "refused"
    assert first["words"] == again["words"]
    assert first["words"][0].startswith("N60 Fit the tuning machines comes after")
    assert Entry.objects.filter(key=by).count() == 1


@pytest.mark.parametrize("header", ["", "x", '"x"', "00000000-0000-4000-8000-000000000000"])
def test_a_key_that_is_missing_or_broken_is_an_error(phone: Client, header: str) -> None:
    """Section 2.7: 400 where the key is missing; 2.1: it is a quoted string (RFC 8941)."""
    answer = phone.post(
        f"/{tag('Q-1055')}/record/",
        {"key": key(), "operation": "N30"},
        headers={"Idempotency-Key": header},
    )
    assert answer.status_code == 400
    assert told(answer)["why"] == "What this phone sent carries no key. Open the page again."


def test_the_same_key_with_another_body_is_an_error(phone: Client) -> None:
    """Section 2.7: 422 where the key was used with another request payload."""
    by = key()
    send(phone, by=by)
    other = send(phone, by=by, operation="N40")
    assert (other.status_code, other["X-Outcome"]) == (422, "refused")
    assert told(other)["words"][0].startswith("This entry carries the key of another one.")
    assert not Step.objects.filter(entry__key=by, operation__code="N40").exists()


def test_another_photo_is_another_body(phone: Client) -> None:
    """Section 2.4: the fingerprint covers the whole payload, files too."""
    by = key()
    send(phone, by=by, photo=SimpleUploadedFile("a.jpg", b"one"))
    other = send(phone, by=by, photo=SimpleUploadedFile("a.jpg", b"two"))
    assert other.status_code == 422


def test_another_form_token_is_the_same_body(phone: Client) -> None:
    by = key()
    send(phone, by=by, csrfmiddlewaretoken="one")
    again = send(phone, by=by, csrfmiddlewaretoken="two")
    assert again["X-Outcome"] == "already"


def test_key_and_answer_lie_in_the_row_of_the_deed(phone: Client) -> None:
    """Section 2.5: the answer is stored with what was done, or neither is."""
    by = key()
    send(phone, by=by)
    kept = board.answered(uuid.UUID(by))
    assert kept is not None
    assert (kept["result"], kept["kind"], len(kept["sent_mark"])) == ("recorded", "step", 64)


def test_nobody_signed_in_is_told_so_and_nothing_is_lost(phone: Client) -> None:
    phone.post("/sign-out/")
    by = key()
    answer = send(phone, by=by)
    assert (answer.status_code, told(answer)) == (401, {"why": "sign in"})
    assert not Entry.objects.filter(key=by).exists()


def test_a_token_that_ran_out_is_told_from_a_right_that_is_missing() -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.cookies.update(signed_in("P-11").cookies)
    answer = send(strict)
    assert (answer.status_code, told(answer)) == (403, {"why": "token"})


def test_a_badge_that_may_not_is_refused_with_words(phone: Client) -> None:
    answer = send(signed_in("P-41"), badge="P-41")
    assert (answer.status_code, told(answer)["outcome"]) == (200, "refused")
    assert "P-41" in told(answer)["words"][0]


def test_what_the_page_refuses_before_the_door_is_told_in_its_words() -> None:
    answer = send(signed_in("P-25"), "Q-1043", "N40", badge="P-25", path="gauge")
    assert told(answer)["outcome"] == "refused"
    assert "the tray of Q-1043 is not scanned here yet" in told(answer)["words"][0]


def test_a_page_still_on_screen_gets_the_part_that_changes(phone: Client) -> None:
    answer = send(phone, accept="text/html")
    assert answer["X-Outcome"] == "recorded"
    assert answer["Content-Type"].startswith("text/html") or answer["X-Next"]


def test_where_the_page_would_go_on_is_told_and_not_gone_to(phone: Client) -> None:
    by = key()
    answer = send(phone, by=by)
    assert answer["X-Next"] == f"/{tag('Q-1055')}?after={by}"


# --- the database is held by another ---


def held_too_long(*_: Any) -> None:
    raise OperationalError("database is locked")


@pytest.mark.parametrize(
    "where",
    ["shop.bench.views.record", "shop.floor.board.answered", "shop.people.badges.active"],
)
def test_a_database_held_too_long_lets_the_phone_try_later(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the view, and before it. Section 2.6: a key with no outcome is as good as new."""
    phone, by = signed_in("P-12"), key()
    rows = Entry.objects.count()
    with monkeypatch.context() as held:
        held.setattr(where, held_too_long)
        answer = send(phone, by=by, badge="P-11")
    assert (answer.status_code, told(answer)) == (503, {"why": "busy"})
    assert Entry.objects.count() == rows
    assert send(phone, by=by, badge="P-11")["X-Outcome"] == "recorded"


def test_what_broke_otherwise_is_no_wait(phone: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("shop.bench.views.record", broken)
    with pytest.raises(ZeroDivisionError):
        send(phone)


def test_a_form_that_no_phone_kept_breaks_as_ever(
    phone: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shop.bench.views.record", held_too_long)
    with pytest.raises(OperationalError):
        phone.post(f"/{tag('Q-1055')}/record/", {"key": key(), "operation": "N30"})


# --- the clerk's check of a tray's line ---


def test_a_check_that_waited_is_done_once_and_counts_from_the_tap() -> None:
    """Section 2.6: a repeated request gets the result of the one that was completed."""
    pick_in("Q-1062")
    clerk, by = signed_in("P-41"), key()
    sent = [sent_later(clerk, "Q-1062", "N01", by, waited=HOUR, count="1") for _ in range(2)]
    assert [one["X-Outcome"] for one in sent] == ["recorded", "already"]
    assert {one["X-Next"] for one in sent} == {f"/trays/{code('Q-1062')}/check/"}
    kept = row(by)
    assert (kept.source, kept.at, kept.received_at) == ("kept", NOW - HOUR, NOW)
    assert line("Q-1062", "N01")["checked_at"] == NOW - HOUR


def test_a_check_that_the_page_refuses_is_told_in_its_words_and_keeps_no_key() -> None:
    """Section 2.6 keeps the result of what was processed; here nothing was."""
    pick_in("Q-1062")
    by = key()
    answer = sent_later(signed_in("P-41"), "Q-1062", "T01", by, left="2", right="4")
    assert (answer.status_code, told(answer)["outcome"]) == (200, "refused")
    assert "2 left and 4 right counted." in told(answer)["words"][0]
    assert not Entry.objects.filter(key=by).exists()


def test_a_check_comes_under_the_badge_it_was_tapped_under_and_by_its_right() -> None:
    pick_in("Q-1062")
    operator, by = signed_in("P-11"), key()
    own = sent_later(operator, "Q-1062", "N01", key(), badge="P-11", count="1")
    assert told(own)["outcome"] == "refused"
    assert line("Q-1062", "N01")["checker"] is None
    sent_later(operator, "Q-1062", "N01", by, waited=HOUR, count="1")
    kept = row(by)
    assert (kept.who, kept.sent_by) == ("P-41", "P-11")
    assert kept.unproven == "badge P-41 was claimed without the network"
    assert line("Q-1062", "N01")["checker"] == "P-41"
    page = signed_in("P-01").get("/settle/").content.decode()
    assert "P-41 checked 1 × N01 in its tray at K: counted." in page


def test_no_other_page_of_the_clerk_is_taken_under_a_claimed_badge() -> None:
    for what in ("close", "open", "park"):
        headers = {"Idempotency-Key": f'"{key()}"', "X-Phone-Badge": "P-41"}
        answer = signed_in("P-11").post(f"/trays/{code('Q-1062')}/{what}/", headers=headers)
        assert (answer.status_code, "X-Outcome" in answer) == (403, False)


def pick_in(serial: str) -> None:
    """All of a tray's lines lie in it, not checked yet."""
    tray = shelf.tray(now(serial).tray_id)
    assert tray is not None
    ledger.put_in(tray["id"], [put(one) for one in tray["lines"]])


# --- when ---


def test_a_step_counts_from_the_tap_and_not_from_when_it_was_sent(phone: Client) -> None:
    by = key()
    answer = send(phone, by=by, waited=2 * HOUR, skew=timedelta(hours=-7))
    assert told(answer)["outcome"] == "recorded"
    kept = row(by)
    assert (kept.source, kept.at, kept.received_at) == ("kept", NOW - 2 * HOUR, NOW)
    assert kept.claimed_at == NOW - 9 * HOUR
    assert kept.sent_at == NOW - 7 * HOUR
    assert Step.objects.get(entry=kept).at == NOW - 2 * HOUR


def test_that_it_counts_from_the_tap_is_said(phone: Client) -> None:
    answer = send(phone, waited=2 * HOUR)
    assert "Tapped Mon 07:30, sent Mon 09:30: it counts from Mon 07:30." in told(answer)["words"]


def test_a_clock_turned_while_it_waited_leaves_the_step_in_doubt(phone: Client) -> None:
    by = key()
    send(phone, by=by, waited=2 * HOUR, offset=HOUR)
    step = Step.objects.get(entry=row(by))
    assert step.at == NOW - HOUR  # the later of both
    assert step.doubt == "its phone's clock was changed while it waited"


@pytest.mark.parametrize(("minutes", "outcome"), [(-1, "refused"), (1, "recorded")])
def test_a_gate_judges_by_the_moment_of_the_tap(today: Clock, minutes: int, outcome: str) -> None:
    """Q-1040 rests in its case until 10:30. What came too early at the tap stays refused,
    however late it is sent."""
    today.now = NOW + 3 * HOUR
    waited = today.now - (NOW + HOUR + timedelta(minutes=minutes))
    ready_for("Q-1040", "I30", "P-32", "R", NOW + HOUR)
    inspector = signed_in("P-32")
    answer = told(
        send(inspector, "Q-1040", "I30", badge="P-32", station="R", waited=waited, at=today.now)
    )
    assert answer["outcome"] == outcome
    assert ("Ready Mon 10:30" in " ".join(answer["words"])) == (outcome == "refused")


# --- whose ---


@pytest.mark.parametrize("claimed", [False, True])
def test_a_badge_proven_at_this_phone_is_taken_at_its_word(
    phone: Client, today: Clock, claimed: bool
) -> None:
    by = key()
    proof = told(phone.get("/who/"))["proof"]
    today.now += timedelta(minutes=30)
    other = signed_in("P-12")
    other.cookies["phone"] = phone.cookies["phone"]
    waited = timedelta(minutes=10)
    send(other, by=by, proof=proof, waited=waited, at=today.now, claimed=claimed)
    kept = row(by)
    assert (kept.source, kept.who, kept.sent_by) == ("kept", "P-11", "P-12")
    assert kept.unproven == ""


@pytest.mark.parametrize(
    ("claimed", "unproven"),
    [(False, ""), (True, "badge P-11 was claimed without the network")],
)
def test_a_badge_chosen_without_its_pin_is_doubted_even_where_it_sends_by_itself(
    phone: Client, claimed: bool, unproven: str
) -> None:
    by = key()
    send(phone, by=by, waited=2 * HOUR, claimed=claimed)
    kept = row(by)
    assert (kept.who, kept.sent_by, kept.unproven) == ("P-11", "", unproven)


@pytest.mark.parametrize(
    ("badge", "waited", "beside"),
    [
        ("P-11", timedelta(), "P-12"),  # sent at once by the badge they stand beside
        ("P-11", HOUR, ""),
        ("P-12", timedelta(), ""),  # their own act
        ("P-16", timedelta(), ""),
    ],
)
def test_who_stands_beside_the_sender_signs_for_nobody_else(
    phone: Client, badge: str, waited: timedelta, beside: str
) -> None:
    phone.post("/beside/", {"badge": "P-12", "pin": pin_of("P-12")})
    by = key()
    send(phone, by=by, badge=badge, waited=waited)
    assert (row(by).who, row(by).beside) == (badge, beside)


def test_a_badge_only_claimed_is_recorded_in_doubt_and_shown_to_the_lead(phone: Client) -> None:
    by = key()
    send(signed_in("P-12"), by=by, badge="P-11", waited=HOUR)
    step = Step.objects.get(entry=row(by))
    assert (step.by.code, step.doubt) == ("P-11", "badge P-11 was claimed without the network")
    page = signed_in("P-01").get("/settle/").content.decode()
    assert "Claimed on a phone" in page
    assert "badge P-11 was claimed without the network" in page
    assert "sent under P-12" in page


@pytest.mark.parametrize("path", ["/settle/Q-1043/freeze/", "/office/", "/screens/", "/nowhere/"])
def test_a_badge_is_claimed_for_acts_a_phone_keeps_and_for_nothing_else(path: str) -> None:
    """An operator stays an operator wherever a lead's right is asked for."""
    by = key()
    sent = {"key": by, "clock": iso(NOW), "language": "es", "reason": "No reason"}
    headers = {"Idempotency-Key": f'"{by}"', "X-Phone-Badge": "P-01", "X-Phone-Sent": iso(NOW)}
    answer = signed_in("P-11").post(path, sent, headers=headers)
    assert answer.status_code in {302, 403, 404}
    assert answer.get("X-Outcome", "") == ("refused" if path == "/nowhere/" else "")
    assert not Entry.objects.filter(key=by).exists()
    assert Badge.objects.get(code="P-01").language == ""


def test_every_act_at_a_bench_may_wait_on_a_phone() -> None:
    """What a phone's page marks for keeping is what the server takes as kept."""
    kept = {
        found[1]
        for page in (ROOT / "templates/bench").glob("*.html")
        for form in re.findall(r"<form[^>]*data-outbox[^>]*>", page.read_text())
        if (found := re.search(r'action="{{ here }}/(\w+)/', form))
    }
    assert len(kept) > 3
    names = {"start": "start-step"}
    assert {f"bench:{names.get(one, one)}" for one in kept} <= once.ACTS


def test_of_the_clerks_pages_the_check_of_a_line_may_wait_and_no_other() -> None:
    pages = (ROOT / "templates/kitting").glob("*.html")
    assert [page.name for page in pages if "data-outbox" in page.read_text()] == ["check.html"]
    assert {one for one in once.ACTS if one.startswith("kitting:")} == {"kitting:check"}


def test_of_an_inspection_areas_notes_and_the_rack_may_wait_and_no_decision() -> None:
    """What becomes of a defect takes a second badge at the phone."""
    others = {one for one in once.ACTS if not one.startswith(("bench:", "kitting:"))}
    assert others == {
        "inspection:case-in", "inspection:case-out", "inspection:look-area", "inspection:note",
    }  # fmt: skip
    for name in ("decide", "withdraw"):
        page = (ROOT / f"templates/inspection/{name}.html").read_text()
        assert "data-outbox" not in page


def test_a_badge_nobody_knows_is_refused(phone: Client) -> None:
    answer = send(phone, badge="P-99")
    assert told(answer)["words"][0].startswith("Badge P-99 is not known here.")


PROOFS: dict[str, Callable[[str], str]] = {
    "of another badge": lambda phone: who.proof_of("P-12", phone, NOW - HOUR),
    "of another phone": lambda phone: who.proof_of("P-11", "another", NOW - HOUR),
    "older than a session": lambda phone: who.proof_of("P-11", phone, NOW - 18 * HOUR),
    "made after the tap": lambda phone: who.proof_of("P-11", phone, NOW),
    "altered": lambda phone: who.proof_of("P-11", phone, NOW - HOUR)[:-1] + "x",
    "none": lambda phone: "",
}


@pytest.mark.parametrize("which", PROOFS)
def test_a_proof_that_proves_nothing_counts_for_nothing(which: str) -> None:
    at = NOW - timedelta(minutes=10)
    assert not who.proven("P-11", PROOFS[which]("this"), "this", at)
    assert who.proven("P-11", who.proof_of("P-11", "this", NOW - HOUR), "this", at)


def test_who_is_asked_without_keeping_anybody_signed_in(phone: Client) -> None:
    asked = phone.get("/who/")
    assert "no-store" in asked["Cache-Control"]
    assert told(asked)["badge"] == "P-11"
    phone.post("/sign-out/")
    assert told(phone.get("/who/"))["badge"] == ""


def test_the_chain_covers_how_it_was_sent(phone: Client) -> None:
    send(signed_in("P-12"), badge="P-11", waited=HOUR)
    said: list[str] = []
    assert verify(said.append).wrong == 0
    assert said == []
    assert badges.active("P-11") == Badge.objects.get(code="P-11")


@pytest.mark.parametrize("path", ["old-name", "history"])
def test_an_act_whose_address_is_gone_is_refused_with_a_way_on(phone: Client, path: str) -> None:
    answer = send(phone, path=path)
    said = answer.json()
    assert (answer["X-Outcome"], said["outcome"]) == ("refused", "refused")
    assert said["words"][0] == "Nothing in this shop takes this entry any more."
    assert not Entry.objects.filter(source="outbox").exists()
