"""Every code leads to its instrument, or is told plainly why not."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from shop.craft.code import Kind, pretty
from shop.floor import board, door, following, tags
from shop.floor.models import Body, Entry, Neck, Tag
from shop.people.models import Badge
from tests.floor.morning import NOW, act, now, rules

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def codes(serial: str = "Q-1043") -> dict[str, str]:
    return board.tags_of([serial])[serial]


def replace(code: str, reason: str = "Torn off at the wheel", at: Any = NOW) -> door.Outcome:
    return door.record(act("P-01", "", at, reason=reason), door.TagReplaced(code))


def lost(code: str, mark: str) -> door.Outcome:
    """The tag is lost; what was read on the part itself."""
    return door.record(act("P-01", "", reason="lost"), door.TagReplaced(code, "lost", mark))


def sentence(code: str, kind: Kind) -> str:
    finding = tags.find(code, kind).finding
    assert finding is not None
    return finding.words


def test_a_body_tag_leads_to_its_instrument() -> None:
    code = codes()["body"]
    assert tags.find(code, Kind.BODY) == tags.Found(code, body_tag=code)


def test_a_neck_tag_leads_to_the_instrument_it_waits_for() -> None:
    both = codes()
    assert tags.find(both["neck"], Kind.NECK).body_tag == both["body"]


def test_a_tray_label_leads_to_its_instrument() -> None:
    assert tags.find(now("Q-1043").tray_code, Kind.TRAY).body_tag == codes()["body"]


@pytest.mark.parametrize("kind", [Kind.BODY, Kind.NECK, Kind.TRAY])
def test_a_whole_code_that_nothing_carries_is_unknown(kind: Kind) -> None:
    code = f"{kind.value}000000"
    assert "no tag here carries it" in sentence(code, kind)


def test_a_badge_card_is_told_from_a_tag() -> None:
    card = Badge.objects.get(code="P-11").card or ""
    assert sentence(card, Kind.CARD) == f"{pretty(card)} is a badge card, not a tag."


@pytest.mark.parametrize("serial", ["Q-1060", "Q-1067"])
def test_a_body_in_store_is_said_to_wait(serial: str) -> None:
    code = Body.objects.get(serial=serial).tags.get().code
    assert sentence(code, Kind.BODY).startswith(f"{serial} waits in store")


def test_a_neck_in_store_is_said_to_wait() -> None:
    code = Neck.objects.get(serial="K-2099").tags.get().code
    assert sentence(code, Kind.NECK).startswith("K-2099 waits in store")


# --- replacing ---


def test_a_replaced_tag_is_void_and_the_new_one_leads_to_the_instrument() -> None:
    old = codes()["body"]
    assert replace(old).done
    new = codes()["body"]
    assert new != old
    assert tags.find(new, Kind.BODY).body_tag == new


def test_a_void_tag_says_what_it_hung_on_and_since_when() -> None:
    old = codes()["body"]
    replace(old)
    assert sentence(old, Kind.BODY) == (
        f"{pretty(old)} hung on Q-1043 and is void since 2031-03-03: it was spoilt."
    )


def test_the_day_a_tag_was_voided_is_the_day_in_the_shop(settings: Any) -> None:
    """23:30 in UTC is the next day in a shop two hours ahead (Etc/GMT-2, tz database)."""
    old = codes()["body"]
    replace(old, at=NOW.replace(hour=23))
    settings.TIME_ZONE = "Etc/GMT-2"
    assert sentence(old, Kind.BODY).endswith("void since 2031-03-04: it was spoilt.")


def test_a_void_neck_tag_says_so_too() -> None:
    old = codes()["neck"]
    replace(old)
    assert "hung on K-2081 and is void" in sentence(old, Kind.NECK)


def test_a_void_tag_opens_no_instrument() -> None:
    old = codes()["body"]
    replace(old)
    assert board.by_tag(old) is None


def test_a_void_tag_is_void_for_ever() -> None:
    old = codes()["body"]
    replace(old)
    later = replace(old, at=NOW + timedelta(days=400))
    assert (later.result, rules(later)) == ("refused", ["tag void"])
    assert Tag.objects.get(code=old).void_at == NOW


def test_a_tag_replaced_twice_leaves_two_void_ones_and_one_in_use() -> None:
    for _ in range(2):
        replace(codes()["body"])
    hung = Tag.objects.filter(body__serial="Q-1043")
    assert (hung.filter(void_at=None).count(), hung.exclude(void_at=None).count()) == (1, 2)


def test_a_tag_is_replaced_for_a_reason_only() -> None:
    old = codes()["body"]
    assert rules(replace(old, reason="")) == ["tag reason"]
    assert codes()["body"] == old


def test_of_a_lost_tag_the_mark_on_the_part_is_read_and_kept() -> None:
    """Which part a lost tag hung on is told by the part alone: common practice, no source."""
    old = codes()["body"]
    assert lost(old, "Q-1043").done
    assert Tag.objects.get(code=old).void_why == "lost"
    row = Entry.objects.get(kind="tag")
    assert (row.data["code"], row.data["why"], row.data["mark"]) == (old, "lost", "Q-1043")
    assert (row.who, row.data["new"]) == ("P-01", codes()["body"])
    assert sentence(old, Kind.BODY).endswith(": it was lost.")


@pytest.mark.parametrize(
    ("mark", "told"),
    [
        ("Q-1044", "The mark read is Q-1044; the lost tag hung on Q-1043."),
        ("", "No mark was read; the lost tag hung on Q-1043."),
    ],
)
def test_a_lost_tag_is_not_replaced_beside_another_mark(mark: str, told: str) -> None:
    old = codes()["body"]
    outcome = lost(old, mark)
    assert (rules(outcome), outcome.findings[0].words) == (["tag mark"], told)
    assert codes()["body"] == old


def test_the_lost_tag_of_a_neck_is_replaced_by_the_mark_on_its_heel() -> None:
    old = codes()["neck"]
    assert rules(lost(old, "Q-1043")) == ["tag mark"]
    assert lost(old, "K-2081").done
    assert codes()["neck"] != old


def test_a_spoilt_tag_keeps_its_part_and_is_counted() -> None:
    assert tags.made("Q-1043") == 1
    replace(codes()["body"])
    assert tags.made("Q-1043") == 2
    assert tags.made("K-2081") == 1


def test_the_live_tag_of_a_serial_is_found_for_a_body_and_for_a_neck() -> None:
    both = codes()
    assert (tags.of_serial("Q-1043"), tags.of_serial("K-2081")) == (both["body"], both["neck"])
    assert (tags.body_of("K-2081"), tags.body_of("K-2099")) == ("Q-1043", None)


def test_the_marks_to_choose_from_are_those_of_bodies_and_of_loose_necks() -> None:
    marks = tags.marks()
    assert {"Q-1043", "Q-1060", "K-2081", "K-2099"} <= set(marks)
    assert "K-2088" not in marks, "a neck that is paired shows no heel any more"


def test_a_tag_of_a_part_in_store_can_be_replaced() -> None:
    old = Body.objects.get(serial="Q-1060").tags.get().code
    assert replace(old).done
    assert Tag.objects.get(code=old).void_at == NOW


def test_a_replaced_tag_is_in_the_journal_of_its_instrument() -> None:
    replace(codes()["neck"])
    newest = board.journal(now("Q-1043").id)[0]
    assert (newest["kind"], newest["reason"]) == ("tag", "Torn off at the wheel")


def test_the_database_takes_one_live_tag_for_a_part() -> None:
    body = Body.objects.get(serial="Q-1043")
    with pytest.raises(IntegrityError), transaction.atomic():
        Tag.objects.create(code="B111111", body=body, made_at=NOW)


def test_the_database_takes_no_tag_that_hangs_on_nothing() -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Tag.objects.create(code="B111111", made_at=NOW)


def test_replaced_tags_are_made_again_from_the_journal() -> None:
    lost(codes()["body"], "Q-1043")
    replace(codes()["neck"])
    assert following.differences()[1] == []
