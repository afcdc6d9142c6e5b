"""Whose tray it is, what was ordered, what was approved, and what each answer rests on.

All of it is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

from shop.craft.finding import Basis, Finding, Severity
from shop.craft.fit import check, kit
from shop.craft.fit.identity import listed_article
from shop.craft.hardware import Metal, Picked
from tests.craft.bench import ARTICLES, SPECS, call, tray, wanted
from tests.craft.variations import explained, rules

APPROVAL = "P-01, 2030-11-20: same holes, tried on ten heads"
AGREED = "buyer, order C-0417"


def why(one: Finding) -> Basis:
    assert one.basis is not None
    return one.basis


# Approved, agreed, or neither.


def test_an_approved_substitute_passes_with_its_approval_shown() -> None:
    line = wanted("T06", substitutes=frozenset({"T14"}), approvals=(("T14", APPROVAL),))
    (finding,) = check(call("HOLM", T06=line), tray("HOLM", ("T06", "T14")))
    assert (finding.rule, finding.severity) == ("R25", Severity.NOTE)
    assert finding.words == (
        "T14 in place of T06. Approved: P-01, 2030-11-20: same holes, tried on ten heads."
    )
    assert (finding.then, finding.call) == ("", "")
    assert why(finding).sides == (
        ("What lies here", "T14 graduated set, right"),
        ("What was ordered", "T06 sealed solo set"),
    )
    assert why(finding).limit == "the article ordered, or an approved substitute"
    assert why(finding).origin == APPROVAL


def test_the_article_ordered_itself_needs_no_approval() -> None:
    line = wanted("T06", substitutes=frozenset({"T14"}), approvals=(("T14", APPROVAL),))
    assert check(call("HOLM", T06=line), tray("HOLM")) == ()


def test_an_approval_holds_for_its_own_substitute_only() -> None:
    line = wanted("T06", substitutes=frozenset({"T14"}), approvals=(("T14", APPROVAL),))
    findings = check(call("HOLM", T06=line), tray("HOLM", ("T06", "T05")))
    assert rules(findings) == ["R15", "R25"]
    assert all(one.severity is Severity.STOP for one in findings)


def test_an_approval_does_not_excuse_what_does_not_fit() -> None:
    line = wanted("P01", substitutes=frozenset({"P02"}), approvals=(("P02", APPROVAL),))
    findings = check(call("TARN", P01=line), tray("TARN", ("P01", "P02")))
    assert [(one.rule, one.severity) for one in findings] == [
        ("R18", Severity.STOP),
        ("R25", Severity.NOTE),
    ]


def test_a_line_agreed_with_the_buyer_says_so() -> None:
    gold = wanted("T02", approved_metal=Metal.GOLD, agreed=AGREED)
    (finding,) = check(call("TARN", T01=gold), tray("TARN", ("T01", "T02")))
    assert (finding.rule, finding.severity) == ("R25", Severity.NOTE)
    assert finding.words == "T02 as agreed: buyer, order C-0417."
    assert why(finding).origin == AGREED


def test_an_approval_that_ends_in_a_full_stop_keeps_one() -> None:
    gold = wanted("T02", approved_metal=Metal.GOLD, agreed=f"{AGREED}.")
    (finding,) = check(call("TARN", T01=gold), tray("TARN", ("T01", "T02")))
    assert finding.words.endswith("C-0417.")


def test_what_was_not_ordered_is_told_beside_what_was() -> None:
    (finding,) = check(call("HOLM"), tray("HOLM", ("T06", "T14")))
    assert finding.severity is Severity.STOP
    assert why(finding).title == listed_article.title
    assert why(finding).sides[1] == ("What was ordered", "T06 sealed solo set")
    assert why(finding).origin == "this guitar's list"


def test_a_catalogue_list_of_what_it_asks_for_has_nothing_to_approve() -> None:
    line = wanted("T14", substitutes=frozenset({"T06"}), approvals=(("T06", APPROVAL),))
    usual = call("HOLM", T06=line).kit
    lines = [Picked(article=ARTICLES[one.key]) for one in usual]
    assert kit(SPECS["HOLM"], usual, lines) == ()


# What each answer about a whole tray rests on.


def test_a_tray_of_another_body_shows_both_serials() -> None:
    (finding,) = check(call("TARN"), tray("TARN", serial="Q-1055"))
    assert why(finding).sides == (("Tray T7K2-M4C", "Q-1055"), ("Body", "Q-1043"))
    assert explained(finding)


def test_a_tray_of_another_revision_shows_both_revisions() -> None:
    (finding,) = check(call("TARN"), tray("TARN", revision=1))
    assert why(finding).sides == (("Tray", "TARN revision 1"), ("Guitar", "TARN revision 2"))
    assert explained(finding)


def test_a_partial_tray_shows_what_lies_in_it_and_what_is_short() -> None:
    usual = tray("TARN")
    short = replace(usual, lines=usual.lines[:-2], missing=(wanted("C01"), wanted("R01")))
    (finding,) = check(call("TARN"), short)
    assert why(finding).sides == (("In the tray", "7 lines"), ("Noted as short", "R01, C01"))
    assert explained(finding)


def test_a_count_shows_what_lies_there_what_is_listed_and_what_is_short() -> None:
    usual = tray("TARN")
    (few,) = check(call("TARN"), replace(usual, lines=usual.lines[1:]))
    assert why(few).sides == (
        ("Tuning machines in the tray", "0"),
        ("Tuning machines on the list", "1"),
        ("Noted as short", "0"),
    )
    assert why(few).reckoning == "0 + 0 < 1"
    doubled = (replace(usual.lines[0], quantity=2), *usual.lines[1:])
    (many,) = check(call("TARN"), replace(usual, lines=doubled))
    assert why(many).reckoning == "2 is more than 1"
    assert explained(few)
    assert explained(many)


def test_a_line_noted_short_beside_the_part_itself_counts_once() -> None:
    """One wanted, one there, one noted short: the note is late, nothing is too few."""
    noted = replace(tray("TARN"), missing=(wanted("C01"),))
    assert rules(check(call("TARN"), noted)) == ["missing"]
