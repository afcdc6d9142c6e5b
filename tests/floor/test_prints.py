"""What left the printer: copies counted, codes that change hands, and papers that grow old.

That a tag printed again voids the one before it, and that a paper proves no part: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from shop.craft.code import Kind, check_character, pretty
from shop.floor import board, door, following, tags
from shop.floor.differing import changed
from shop.floor.models import Print, Tag
from tests.floor.morning import NOW, act, asking, check_tray, now, ready_for, rules, step, words
from tests.floor.printed import coming, paper, printed, send
from tests.floor.test_moving import move, opened
from tests.floor.test_substitutes import exchange

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

IT = "Q-1043"  # TARN, its neck K-2081 not paired yet
PAIRED = "Q-1050"  # with K-2088
EXCHANGED = "Q-1062"  # TARN, nothing picked for it yet
LATER = NOW + timedelta(hours=2)
WHY = "It fell into the glue"
AGAIN = "Go by this screen. Have it printed again."


def code(serial: str = IT, part: str = "body") -> str:
    return board.tags_of([serial])[serial][part]


def copies(form: str, serial: str = IT) -> list[tuple[str, int]]:
    rows = Print.objects.filter(instrument__body__serial=serial, form=form).order_by("id")
    return list(rows.values_list("of", "copy"))


def said(paper_code: str, serial: str = IT) -> str:
    """What the bench says of a paper that was scanned."""
    found = board.on_paper(paper_code, now(serial), LATER)
    assert found is not None
    return f"{found.finding.words} {found.finding.then}".strip()


# --- copies ---


def test_copies_are_counted_by_form_and_part() -> None:
    for form in ("traveller", "tray_label", "body_tag", "neck_tag", "traveller"):
        assert printed(IT, form).result == "recorded"
    assert copies("traveller") == [(IT, 1), (IT, 2)]
    assert copies("tray_label") == copies("body_tag") == [(IT, 1)]
    assert copies("neck_tag") == [("K-2081", 1)]
    assert copies("traveller", EXCHANGED) == []


def test_each_copy_of_a_paper_has_a_code_of_its_own() -> None:
    codes = [paper(IT) for _ in range(3)]
    assert len(set(codes)) == 3
    assert all(one[0] == Kind.PAPER and check_character(one[:-1]) == one[-1] for one in codes)


def test_a_paper_with_another_things_code_keeps_none() -> None:
    assert paper(IT, "tray_label") == ""
    assert Print.objects.get(form="tray_label").code == ""


def test_what_is_kept_says_from_which_row_of_the_journal_it_was_drawn() -> None:
    seq = now(IT).seq
    assert printed(IT, "traveller", at=LATER).seq == seq + 1
    row = Print.objects.get()
    assert (row.drawn_from, row.at, row.entry.seq) == (seq, LATER, seq + 1)


def test_two_that_print_the_same_copy_at_once_get_it_once() -> None:
    one, other = coming(IT, "traveller"), coming(IT, "traveller")
    assert send(one).done
    second = send(other)
    assert rules(second) == ["print copy"]
    assert second.findings[0].words == (
        "Copy 1 of the traveller of Q-1043 was printed at the same moment."
    )
    assert second.findings[0].then == "This one is left out. Print again if one is not enough."
    assert (copies("traveller"), tags.find(other.code, Kind.PAPER).body_tag) == ([(IT, 1)], "")


def test_a_print_sent_twice_is_one() -> None:
    deed, once = coming(IT, "traveller"), act("P-01", "")
    assert [door.record(once, deed).result for _ in range(2)] == ["recorded", "already"]
    assert copies("traveller") == [(IT, 1)]


def test_the_database_takes_no_copy_and_no_code_twice() -> None:
    kept = coming(IT, "traveller")
    send(kept)
    row = Print.objects.get()
    for copy, bears in ((1, ""), (2, kept.code)):
        row.pk, row.copy, row.code = None, copy, bears
        row._state.adding = True
        with pytest.raises(IntegrityError), transaction.atomic():
            row.save()


def test_a_paper_whose_code_another_got_meanwhile_is_left_out() -> None:
    """Codes are drawn at random, by two presses at once."""
    other = replace(coming("Q-1055", "traveller"), code=paper(IT))
    assert rules(send(other)) == ["print code"]
    assert copies("traveller", "Q-1055") == []


# --- tags ---


def test_a_tag_that_leaves_the_printer_for_the_first_time_keeps_its_code() -> None:
    before = code(), code(part="neck")
    assert printed(IT, "body_tag").result == "recorded"
    assert printed(IT, "neck_tag").result == "recorded"
    assert (code(), code(part="neck")) == before
    assert Tag.objects.get(code=before[0]).printed_at == NOW


@pytest.mark.parametrize(("form", "part"), [("body_tag", "body"), ("neck_tag", "neck")])
def test_a_tag_printed_again_has_another_code_and_the_old_one_is_void(form: str, part: str) -> None:
    printed(IT, form)
    old = code(part=part)
    assert printed(IT, form, WHY, LATER).done
    new, kind = code(part=part), Kind(part[0].upper())
    assert new != old
    assert tags.find(new, kind).body_tag == code()
    assert (board.by_tag(new) is not None) == (part == "body")
    void = Tag.objects.get(code=old)
    assert (void.void_at, void.void_why) == (LATER, "reprint")
    of = IT if part == "body" else "K-2081"
    found = tags.find(old, kind).finding
    assert found is not None
    assert found.words == (
        f"{pretty(old)} hung on {of} and is void since 2031-03-03: it was printed again."
    )
    assert copies(form) == [(of, 1), (of, 2)]


def test_a_tag_is_printed_again_for_a_reason_only() -> None:
    printed(IT, "body_tag")
    old = code()
    refused = printed(IT, "body_tag", at=LATER)
    assert (refused.result, rules(refused)) == ("refused", ["print again"])
    assert refused.findings[0].words == (
        "The body tag of Q-1043 was printed 2031-03-03 09:30 already."
    )
    assert refused.findings[0].then == (
        "Say why it is printed again. The old one is void then: cut it up."
    )
    assert (code(), copies("body_tag")) == (old, [(IT, 1)])


def test_the_press_knows_which_tag_its_next_one_takes_the_place_of() -> None:
    it = now(IT)
    assert board.next_prints([it], "body_tag", False)[it.id].replaces is None
    printed(IT, "body_tag")
    coming_up = board.next_prints([it], "body_tag", False)[it.id]
    assert (coming_up.copy, coming_up.replaces) == (2, NOW)
    assert not Tag.objects.filter(code=coming_up.code).exists()


def test_a_lost_tag_replaced_is_printed_with_its_new_code_and_asks_for_no_reason() -> None:
    printed(IT, "body_tag")
    lost = door.TagReplaced(code(), "lost", IT)
    assert door.record(act("P-01", "", reason="lost"), lost).done
    new = code()
    assert printed(IT, "body_tag", at=LATER).findings == ()
    assert (code(), Tag.objects.get(code=new).printed_at) == (new, LATER)
    assert copies("body_tag") == [(IT, 1), (IT, 2)]


@pytest.mark.parametrize("before", [False, True], ids=["first print", "printed again"])
def test_a_tag_replaced_while_it_was_drawn_is_not_hung_with_the_old_code(before: bool) -> None:
    if before:
        printed(IT, "body_tag")
    drawn = coming(IT, "body_tag")
    door.record(act("P-01", "", reason="lost"), door.TagReplaced(code(), "lost", IT))
    new = code()
    refused = send(drawn, WHY)
    assert words(refused) == "The tag of Q-1043 was replaced while this one was printed."
    assert (code(), Tag.objects.get(code=new).printed_at) == (new, None)


def test_a_tag_cannot_be_printed_again_with_the_code_it_has() -> None:
    printed(IT, "body_tag")
    again = replace(coming(IT, "body_tag"), code=code())
    assert rules(send(again, WHY)) == ["print tag"]


def test_the_tag_of_a_neck_that_is_paired_is_printed_no_more() -> None:
    it = now(PAIRED)
    assert board.next_prints([it], "neck_tag", False) == {}
    late = door.Printed(it.id, "neck_tag", "Neck tag", "K-2088", 1, "N000000", it.seq)
    assert words(send(late)) == "K-2088 has no tag in use."


def test_the_tag_of_a_neck_that_parted_meanwhile_is_not_printed_for_this_body() -> None:
    drawn = coming(IT, "neck_tag")
    parted = door.PairBroken(now(IT).id, "store")
    assert door.record(act("P-01", "", reason="Heel split"), parted).done
    assert words(send(drawn)) == "K-2081 parted from Q-1043 while this was printed."
    assert board.next_prints([now(IT)], "neck_tag", False) == {}


def test_tags_made_before_prints_were_counted_keep_their_code_at_the_first_print() -> None:
    assert set(Tag.objects.values_list("printed_at", flat=True)) == {None}
    before = code()
    printed(IT, "body_tag")
    assert code() == before


# --- a paper's code ---


def test_the_code_of_a_paper_leads_to_its_instrument() -> None:
    mine = paper(IT)
    assert tags.find(mine, Kind.PAPER) == tags.Found(mine, body_tag=code(), paper=mine)


def test_it_does_so_when_the_tag_on_the_body_was_replaced_or_printed_again() -> None:
    mine = paper(IT)
    door.record(act("P-01", "", reason="lost"), door.TagReplaced(code(), "lost", IT))
    assert tags.find(mine, Kind.PAPER).body_tag == code()
    printed(IT, "body_tag")
    printed(IT, "body_tag", WHY)
    assert tags.find(mine, Kind.PAPER).body_tag == code()


def test_a_code_that_stands_on_no_paper_is_unknown() -> None:
    found = tags.find("P000000", Kind.PAPER)
    assert found.finding is not None
    assert found.finding.words == "P000-000 is a whole code, but nothing printed here carries it."


def test_a_paper_of_a_scrapped_instrument_says_so() -> None:
    mine = paper(PAIRED)
    assert door.record(act("P-01", "", reason="Side split"), door.Scrapped(now(PAIRED).id)).done
    found = tags.find(mine, Kind.PAPER)
    assert found.finding is not None
    assert (found.body_tag, found.finding.words) == (
        "", "This is the traveller of Q-1050, which was scrapped 2031-03-03."
    )  # fmt: skip


def test_a_paper_opens_no_instrument_as_a_tag_does() -> None:
    mine = paper(IT)
    assert (board.by_tag(mine), board.number_of(mine)) == (None, None)


def test_the_record_of_an_instrument_is_found_by_its_paper() -> None:
    assert board.serial_of(paper(PAIRED)) == PAIRED


# --- a paper proves no part ---


@pytest.mark.parametrize("serial", [IT, "Q-1061"])
def test_a_traveller_scanned_for_the_neck_makes_no_pair(serial: str) -> None:
    """Its own traveller as little as another's."""
    mine = paper(serial)
    refused = step("Q-1061", "J10", "P-16", "J", neck=mine)
    assert [(one.words, one.then) for one in refused.findings] == [
        (f"This is the traveller of {serial}.", "Scan the tag on the neck.")
    ]
    assert "J10" not in now("Q-1061").done_codes


def test_a_traveller_scanned_for_the_neck_of_a_pair_is_told_and_freezes_nothing() -> None:
    mine = paper(IT)
    seen = door.record(act("P-14", "B"), door.NeckSeen(now(PAIRED).id, mine))
    assert (seen.result, words(seen)) == ("refused", "This is the traveller of Q-1043.")
    assert now(PAIRED).frozen is None
    assert now(IT).frozen is None


def test_a_traveller_scanned_for_the_tray_is_no_tray() -> None:
    mine = paper(IT)
    told = door.record(act("P-11", "N"), door.TrayChecked(now(IT).id, mine))
    assert [(one.words, one.then) for one in told.findings] == [
        ("This is the traveller of Q-1043.", "Scan the label at the tray's end.")
    ]
    assert check_tray(IT).done


def test_a_code_like_a_papers_that_none_carries_proves_nothing_either() -> None:
    told = door.record(act("P-11", "N"), door.TrayChecked(now(IT).id, "P000000"))
    assert words(told) == "P000-000 is a printed sheet."


def test_a_neck_tag_that_was_printed_again_makes_no_pair_and_says_why() -> None:
    printed("Q-1061", "neck_tag")
    old = code("Q-1061", "neck")
    printed("Q-1061", "neck_tag", WHY)
    refused = step("Q-1061", "J10", "P-16", "J", neck=old)
    assert words(refused) == f"{pretty(old)} is void: it was printed again."
    assert step("Q-1061", "J10", "P-16", "J", neck=code("Q-1061", "neck")).done


# --- what changed since ---


def test_a_paper_whose_words_stand_says_so() -> None:
    mine = paper(IT)
    found = board.on_paper(mine, now(IT), LATER)
    assert found is not None
    assert (found.form, found.copy, found.again) == ("traveller", 1, False)
    assert found.finding.severity.value == "note"
    assert said(mine) == (
        "This traveller is copy 1, printed 2031-03-03 09:30, and what it says still stands."
    )


def test_work_that_goes_on_makes_no_paper_old() -> None:
    """Room for what is done is on it; it is what it says that may change."""
    mine = paper("Q-1044")
    ready_for("Q-1044", "N10")
    assert step("Q-1044", "N10").done
    assert "still stands" in said(mine, "Q-1044")


def since(change: str, copy: int = 1) -> str:
    return f"This traveller is copy {copy}, printed 2031-03-03 09:30. Since then: {change} {AGAIN}"


def test_a_paper_says_that_its_revision_moved_and_which_limit_with_it() -> None:
    mine = paper(IT)
    assert move(opened(relief_mm="0.31")).done
    assert said(mine) == since(
        "Revision TARN 2, on paper TARN 1. Relief 0.31 mm, on paper 0.20 mm."
    )


def test_a_paper_says_that_hardware_was_substituted_and_by_whom_that_was_agreed() -> None:
    mine = paper(EXCHANGED)
    assert exchange().done
    assert said(mine, EXCHANGED) == since(
        "Deviation added: T02 open-gear individual set instead of T01: It ran out, the next comes "
        "too late (P-01, 2031-03-03, buyer asked). Hardware added: 1 × T02 open-gear individual "
        "set. Hardware no longer: 1 × T01 open-gear individual set."
    )


def test_a_paper_says_that_its_neck_parted_and_which_one_was_named() -> None:
    mine, number = paper(IT), now(IT).id
    door.record(act("P-01", "", reason="Heel split"), door.PairBroken(number, "store"))
    assert said(mine) == since("Neck none, on paper K-2081.")
    assert door.record(act("P-01", ""), door.NeckNamed(number, "K-2099")).done
    assert said(mine) == since("Neck K-2099, on paper K-2081.")


@pytest.mark.parametrize(
    ("differs", "change"),
    [
        ({"due_on": date(2031, 4, 1)}, "Due 2031-04-01, on paper 2031-03-14."),
        ({"urgent": True}, "Priority urgent, on paper normal."),
        ({"order": "C-0499"}, "Order C-0499, on paper none."),
    ],
    ids=["due", "urgent", "order"],
)
def test_a_paper_says_what_its_order_came_to_be(differs: dict[str, Any], change: str) -> None:
    """No deed changes these today; whatever does makes the paper old."""
    mine = paper(IT)
    found = board.on_paper(mine, replace(now(IT), **differs), LATER)
    assert found is not None
    assert f"{found.finding.words} {found.finding.then}" == since(change)


def test_an_older_copy_says_that_there_is_a_newer_one() -> None:
    first = paper(IT)
    second = paper(IT, at=LATER)
    assert said(first) == (
        "This traveller is copy 1, printed 2031-03-03 09:30. Copy 2 was printed 2031-03-03 11:30. "
        "Go by the newer one and tear this one up."
    )
    assert "copy 2, printed 2031-03-03 11:30, and what it says still stands" in said(second)


def test_an_older_copy_says_what_changed_as_well_and_is_not_printed_again() -> None:
    first = paper(IT)
    door.record(act("P-01", "", reason="Heel split"), door.PairBroken(now(IT).id, "store"))
    paper(IT, at=LATER)
    assert "11:30. Since this one: Neck none, on paper K-2081. Go by the newer" in said(first)
    found = board.on_paper(first, now(IT), LATER)
    assert found is not None
    assert not found.again


def test_a_paper_that_changed_and_is_the_newest_is_to_be_printed_again() -> None:
    mine = paper(IT)
    move(opened())
    found = board.on_paper(mine, now(IT), LATER)
    assert found is not None
    assert found.again


def test_a_paper_of_another_instrument_says_nothing_here() -> None:
    assert board.on_paper(paper(PAIRED), now(IT), LATER) is None
    assert board.on_paper("", now(IT), LATER) is None


@pytest.mark.parametrize(
    ("then", "after", "told"),
    [
        ([], [], []),
        ([("a", "1"), ("a", "2")], [("a", "2"), ("a", "1")], []),
        ([("a", "1"), ("a", "1")], [("a", "1")], ["A no longer: 1."]),
        ([("a", "1")], [("a", "1"), ("a", "2"), ("a", "3")], ["A added: 2 and 3."]),
        ([], [("pH of it", "1")], ["PH of it added: 1."]),
        ([("a", "1"), ("b", "1")], [("a", "2")], ["A 2, on paper 1.", "B no longer: 1."]),
    ],
)
def test_what_changed_is_told_what_by_what(then: Any, after: Any, told: list[str]) -> None:
    assert list(changed(tuple(then), tuple(after))) == told


# --- the journal, and the floor made again ---


def test_prints_are_told_among_the_tags_of_a_history() -> None:
    printed(IT, "body_tag")
    printed(IT, "body_tag", WHY, LATER)
    told = board.history(now(IT), asking("P-01", ""), "tags").rows
    assert [one.words for one in told] == [
        f"P-01 printed the body tag of Q-1043, copy 2: {WHY}.",
        "P-01 printed the body tag of Q-1043.",
    ]
    assert told[0].details == (("Code", pretty(code())),)


def every_kind_of_print() -> None:
    for form in ("traveller", "body_tag", "neck_tag", "tray_label", "traveller"):
        printed(IT, form)
    for form in ("body_tag", "neck_tag", "body_tag"):
        printed(IT, form, at=LATER)
        assert printed(IT, form, WHY, LATER).done
    door.record(act("P-01", "", reason="lost"), door.TagReplaced(code(), "lost", IT))
    printed(IT, "body_tag", at=LATER)


CHANGES: dict[str, Callable[[], Any]] = {
    "a copy": lambda: Print.objects.filter(copy=2, form="traveller").delete(),
    "what it said": lambda: Print.objects.filter(form="traveller", copy=1).update(stands=[]),
    "when a tag was printed": lambda: Tag.objects.filter(body__serial=IT, void_at=None).update(
        printed_at=None
    ),
}


def test_what_was_printed_is_made_again_from_the_journal() -> None:
    every_kind_of_print()
    assert following.differences()[1] == []


@pytest.mark.parametrize("what", CHANGES)
def test_what_no_print_did_is_named(what: str) -> None:
    every_kind_of_print()
    CHANGES[what]()
    assert len(following.differences()[1]) == 1


# --- in few statements ---


@pytest.mark.parametrize(
    ("form", "statements"), [("traveller", 2), ("tray_label", 1), ("body_tag", 3), ("neck_tag", 3)]
)
def test_the_next_copies_of_many_take_the_statements_of_one(
    form: str, statements: int, django_assert_num_queries: Any
) -> None:
    serials = [IT, "Q-1044", "Q-1055", "Q-1058", "Q-1061", "Q-1062"]
    for serial in serials:
        printed(serial, form)
    them = [now(serial) for serial in serials]
    for some in (them[:1], them):
        with django_assert_num_queries(statements):
            found = board.next_prints(some, form, form == "traveller")
        assert [found[one.id].copy for one in some] == [2] * len(some)
        codes = {one.code for one in found.values()} - {""}
        assert len(codes) == (0 if form == "tray_label" else len(some))


def test_a_scanned_paper_takes_two_statements_and_no_paper_none(
    django_assert_num_queries: Any,
) -> None:
    mine, it = paper("Q-1044"), now("Q-1044")
    assert it.departures
    with django_assert_num_queries(2):
        board.on_paper(mine, it, LATER)
    with django_assert_num_queries(0):
        board.on_paper("", it, LATER)
