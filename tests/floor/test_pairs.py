"""A neck and the body cut for it: seen together, parted, and a new neck named."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from shop.craft.code import Kind
from shop.craft.finding import Severity
from shop.floor import board, door, following, tags
from shop.floor.models import Entry, Instrument, Neck, Pair, Rework, Step, Tag
from tests.floor.morning import NOW, act, check_tray, measured, now, ready_for, rules, step, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

PAIR = "Q-1050"  # with K-2088, done to J10
SPLIT = "Heel split along the grain"
OF_THE_BODY = {"B10", "B20", "B30"}


def arrive(serial: str = "K-2091", spec: str = "HOLM") -> str:
    """A neck comes in; the code on its tag."""
    assert door.record(act("P-01", ""), door.PartArrived("neck", serial, spec)).done
    return tag_of(serial)


def tag_of(serial: str) -> str:
    return Tag.objects.get(neck__serial=serial, void_at=None).code


def retired(serial: str = "K-2088") -> str:
    return Tag.objects.get(neck__serial=serial, void_why="paired").code


def see(code: str, serial: str = PAIR, by: str = "P-16", station: str = "J") -> door.Outcome:
    return door.record(act(by, station), door.NeckSeen(now(serial).id, code))


def part(
    fate: Any = "scrap", serial: str = PAIR, reason: str = SPLIT, at: Any = NOW
) -> door.Outcome:
    return door.record(act("P-01", "", at, reason=reason), door.PairBroken(now(serial).id, fate))


def name(neck: str, serial: str = PAIR, at: Any = NOW) -> door.Outcome:
    return door.record(act("P-01", "", at), door.NeckNamed(now(serial).id, neck))


def done(serial: str = PAIR) -> set[str]:
    return set(now(serial).done_codes)


# --- a neck beside the body ---


def test_the_neck_a_body_is_cut_for_belongs_there_by_its_retired_tag_too() -> None:
    outcome = see(retired())
    assert (outcome.result, words(outcome)) == (
        "recorded",
        "K-2088 belongs here: it is the neck of Q-1050.",
    )
    assert now(PAIR).frozen is None


def test_another_neck_beside_a_pair_stops_and_the_lead_is_named() -> None:
    """Common practice, no source: Q-1050 is a pair with K-2088 since J10, K-2091 is scanned
    with it before J30."""
    outcome = see(arrive("K-2091"))
    [finding] = outcome.findings
    assert (outcome.result, finding.rule, finding.severity) == ("refused", "R39", Severity.STOP)
    assert finding.words == (
        "This neck is K-2091 and is kept for no body yet. Q-1050 is cut for K-2088."
    )
    assert (finding.then, finding.call) == ("Hold both. Call the lead.", "lead")


def test_a_neck_that_was_not_released_yet_freezes_the_body_alone() -> None:
    see(arrive("K-2091"))
    frozen = now(PAIR).frozen
    assert frozen is not None
    assert (frozen.by, frozen.since) == ("P-16", NOW)
    assert "K-2091" in frozen.words
    assert "Q-1050 is cut for K-2088" in frozen.words
    assert Instrument.objects.exclude(frozen={}).count() == 1


def test_a_neck_that_waits_for_another_body_freezes_both() -> None:
    outcome = see(tag_of("K-2095"))
    assert words(outcome) == (
        "This neck is K-2095 and belongs to Q-1061. Q-1050 is cut for K-2088."
    )
    assert [one.frozen is not None for one in (now(PAIR), now("Q-1061"))] == [True, True]


def test_a_neck_out_of_another_pair_is_told_to_have_its_pocket_there() -> None:
    outcome = see(retired("K-2086"))
    assert "This neck is K-2086 and has its pocket in Q-1049." in words(outcome)
    assert [one.frozen is not None for one in (now(PAIR), now("Q-1049"))] == [True, True]


def test_a_frozen_body_is_worked_on_no_more() -> None:
    see(arrive("K-2091"))
    assert "frozen" in rules(step(PAIR, "J20", "P-16", "J"))


def test_both_stand_frozen_in_their_own_journals() -> None:
    see(tag_of("K-2095"))
    for serial in (PAIR, "Q-1061"):
        rows = Entry.objects.filter(instrument=now(serial).id, kind="frozen", outcome="recorded")
        assert rows.count() == 1
    seen = Entry.objects.get(instrument=now(PAIR).id, kind="neck seen")
    assert (seen.outcome, seen.station, seen.who) == ("refused", "J", "P-16")


def test_the_lead_frees_what_was_frozen() -> None:
    see(tag_of("K-2095"))
    looked = "Read both heels: K-2088 is in Q-1050"
    freed = door.record(act("P-01", "", reason=looked), door.Freed(now(PAIR).id))
    assert freed.done
    assert now(PAIR).frozen is None
    assert now("Q-1061").frozen is not None


def test_before_any_pair_is_made_a_wrong_neck_stops_and_freezes_nothing() -> None:
    outcome = see(tag_of("K-2099"), "Q-1061")
    assert words(outcome).endswith("Q-1061 waits for K-2095.")
    assert not Instrument.objects.exclude(frozen={}).exists()


def test_a_neck_is_looked_at_at_whatever_station() -> None:
    assert see(retired(), by="P-18", station="G").done


def test_a_body_tag_is_no_necks_tag() -> None:
    body = board.tags_of(["Q-1061"])["Q-1061"]["body"]
    assert words(see(body)) == f"{body} is no neck's tag."
    assert now(PAIR).frozen is None


def test_a_spoilt_tag_does_not_tell_which_neck_it_is() -> None:
    old = tag_of("K-2095")
    replaced = door.TagReplaced(old, "spoilt")
    assert door.record(act("P-01", "", reason="Wet"), replaced).done
    outcome = see(old)
    assert rules(outcome) == ["neck scan"]
    assert "is void: it was spoilt." in words(outcome)
    assert now(PAIR).frozen is None


# --- parting ---


def test_a_broken_pair_ends_with_its_reason_and_stays_on_record() -> None:
    assert part().done
    pair = Pair.objects.get(instrument__body__serial=PAIR)
    assert (pair.neck.serial, pair.ended_at, pair.ended_why) == ("K-2088", NOW, SPLIT)
    row = Entry.objects.get(kind="unpaired")
    assert (row.who, row.reason, row.data["neck"]) == ("P-01", SPLIT, "K-2088")


def test_what_was_done_with_the_old_neck_is_void_and_the_bodys_own_stands() -> None:
    before = Step.objects.filter(instrument__body__serial=PAIR).count()
    part()
    assert done() == OF_THE_BODY
    void = Step.objects.filter(instrument__body__serial=PAIR).exclude(void_at=None)
    assert void.count() == before - len(OF_THE_BODY) > 0
    assert {(one.void_at, one.void_why) for one in void} == {(NOW, f"pair broken: {SPLIT}")}


def test_what_the_deed_has_in_hand_is_what_the_floor_then_says() -> None:
    after = part().after
    assert after is not None
    found = now(PAIR)
    assert (after.done, after.readings, after.standing) == (
        found.done,
        found.readings,
        found.standing,
    )
    assert {one.seq for one in after.past} == {one.seq for one in found.past} != set()
    assert (after.neck, after.seq, after.longer) == (None, found.seq, found.longer)


def test_what_was_measured_on_the_old_neck_is_no_longer_in_force() -> None:
    assert {"peghead", "hole"} <= {one.quantity for one in now(PAIR).readings.values}
    part()
    assert {one.quantity for one in now(PAIR).readings.values} == {"tail_hole", "tail_block"}
    assert not now(PAIR).placed


def test_what_was_measured_wrong_on_the_old_neck_goes_with_it() -> None:
    ready_for("Q-1043", "N40")
    assert measured("Q-1043", "N40", hole="8.60").done
    assert now("Q-1043").standing["readings"]
    part(serial="Q-1043")
    assert "readings" not in now("Q-1043").standing


def test_what_stands_against_the_body_still_stands() -> None:
    ready_for("Q-1043", "B30", "P-14", "B")
    assert measured("Q-1043", "B30", "P-14", "B", tail_hole="12.0").done
    stood = now("Q-1043").standing["readings"]
    assert stood
    part(serial="Q-1043")
    assert now("Q-1043").standing["readings"] == stood


def test_the_tray_is_scanned_again_and_goes_back_for_another_set() -> None:
    check_tray(PAIR)
    outcome = part()
    [finding] = outcome.findings
    assert (finding.severity, finding.call) == (Severity.NOTE, "clerk")
    assert finding.words == "What N60 fitted sits on K-2088."
    assert "Give the tray of Q-1050 back to kitting" in finding.then
    assert now(PAIR).checked_version is None
    assert now(PAIR).tray_state == "closed"


def test_nothing_goes_back_to_kitting_before_anything_is_fitted() -> None:
    assert part(serial="Q-1043").findings == ()


def test_what_is_in_hand_and_the_loop_it_is_on_end_with_the_pair() -> None:
    own = Instrument.objects.filter(body__serial=PAIR)
    since = NOW.isoformat()
    own.update(
        open_step={"operation": "J20", "by": "P-16", "since": since},
        rework={
            "loop": "x", "words": "", "since": since, "stage": "repair", "redo": [],
        },
        happened=[["rack", since, None, 0]],
        longer={"neck clamp": 2, "oil": 1, "elsewhere": 3},
    )  # fmt: skip
    entry = Entry.objects.filter(instrument=own.get()).latest("id")
    Rework.objects.create(instrument=own.get(), loop="x", word="x", opened_at=NOW, entry=entry)
    part()
    after = now(PAIR)
    assert (after.open, after.rework, after.happened) == (None, None, ())
    assert after.longer == {"elsewhere": timedelta(hours=3)}
    assert Rework.objects.get().closed_at == NOW


def test_a_neck_that_is_scrap_is_void_with_its_tag() -> None:
    part(serial="Q-1043")
    neck = Neck.objects.get(serial="K-2081")
    assert neck.scrapped_at == NOW
    assert [one.void_why for one in neck.tags.all()] == ["scrapped"]


def test_a_neck_that_goes_to_the_store_gets_a_tag_of_its_own() -> None:
    old = retired()
    assert part("store").done
    assert tag_of("K-2088") != old
    assert "K-2088" in {one["serial"] for one in board.waiting_parts()["necks"]}
    assert "K-2088 waits in store" in sentence(tag_of("K-2088"))


def test_a_neck_whose_tag_never_retired_keeps_it() -> None:
    own = tag_of("K-2081")
    assert part("store", "Q-1043").done
    assert tag_of("K-2081") == own


def test_a_scrapped_neck_is_not_offered_and_not_taken() -> None:
    part()
    assert "K-2088" not in {one["serial"] for one in board.waiting_parts()["necks"]}
    outcome = name("K-2088")
    assert words(outcome) == "Neck K-2088 was scrapped 2031-03-03."
    assert now(PAIR).neck is None


def test_a_pair_is_not_broken_without_a_reason() -> None:
    outcome = part(reason="")
    assert rules(outcome) == ["unpaired"]
    assert now(PAIR).neck == "K-2088"
    assert Pair.objects.get(instrument__body__serial=PAIR).ended_at is None


def test_a_neck_goes_to_scrap_or_to_the_store_and_nowhere_else() -> None:
    assert rules(part("shelf")) == ["fate"]
    assert now(PAIR).neck == "K-2088"


def test_a_body_without_a_neck_has_none_to_part_from() -> None:
    part()
    assert rules(part(at=NOW + timedelta(minutes=1))) == ["neck"]


def test_what_is_on_record_as_built_keeps_its_neck() -> None:
    at = NOW + timedelta(hours=2)
    for code in ("I30", "I50"):
        ready_for("Q-1040", code, "P-32", "R", at)
        assert step("Q-1040", code, "P-32", "R", at).done
    outcome = part(serial="Q-1040", at=at)
    assert rules(outcome) == ["released"]
    assert now("Q-1040").neck == "K-2073"


# --- another neck ---


def test_a_body_without_a_neck_waits_for_the_lead_to_name_one() -> None:
    part()
    assert "no new neck is named" in words(see(arrive("K-2091")))
    assert now(PAIR).frozen is None


@pytest.mark.parametrize("deed", [door.StepDone, door.StepStarted])
def test_nothing_is_done_on_a_neck_that_is_not_there(deed: Any) -> None:
    part()
    outcome = door.record(act("P-11", "N"), deed(now(PAIR).id, "N10"))
    assert (outcome.result, rules(outcome)) == ("refused", ["neck"])
    late = door.StepDone(now(PAIR).id, "N10", done_at=NOW - timedelta(hours=1))
    assert "neck" in rules(door.record(act("P-11", "N", reason="Forgot to scan"), late))


def test_the_neck_the_lead_names_starts_at_the_first_neck_operation() -> None:
    part()
    arrive("K-2091")
    assert name("K-2091").done
    assert now(PAIR).neck == "K-2091"
    assert now(PAIR).next_codes == ("N10",)


def test_a_new_neck_makes_a_new_pair_and_both_histories_stay() -> None:
    part()
    arrive("K-2091")
    name("K-2091")
    at = NOW + timedelta(days=7)
    assert_built_to_the_pair(at)
    pairs = Pair.objects.filter(instrument__body__serial=PAIR).order_by("made_at")
    assert [(one.neck.serial, one.ended_why) for one in pairs] == [
        ("K-2088", SPLIT),
        ("K-2091", ""),
    ]
    first = Step.objects.filter(instrument__body__serial=PAIR, operation__code="N10")
    assert (first.count(), first.filter(void_at=None).count()) == (2, 1)


def assert_built_to_the_pair(at: Any) -> None:
    for number, code in enumerate(("N10", "N20", "N30", "N40", "N50", "N60")):
        moment = at + timedelta(hours=number)
        ready_for(PAIR, code, at=moment)
        assert step(PAIR, code, at=moment).done
    at += timedelta(hours=8)
    outcome = step(PAIR, "J10", "P-16", "J", at, neck=tag_of("K-2091"))
    assert outcome.done, words(outcome)


@pytest.mark.parametrize(
    ("neck", "told"),
    [
        ("K-9999", "No neck K-9999 has arrived."),
        ("K-2095", "Neck K-2095 is released already, as Q-1061."),
        ("K-2099", "Neck K-2099 was made as TARN, not HOLM."),
    ],
)
def test_a_neck_that_cannot_be_had_is_not_named(neck: str, told: str) -> None:
    part()
    assert words(name(neck)) == told
    assert now(PAIR).neck is None


def test_a_body_that_has_a_neck_gets_no_other() -> None:
    arrive("K-2091")
    outcome = name("K-2091")
    assert words(outcome) == "Q-1050 has a neck: K-2088."
    assert now(PAIR).neck == "K-2088"


def test_a_stored_neck_can_be_named_for_another_body() -> None:
    part("store")
    part("scrap", "Q-1064")
    assert name("K-2088", "Q-1064").done
    assert now("Q-1064").neck == "K-2088"
    assert now(PAIR).neck is None


# --- tags of a pair ---


def sentence(code: str) -> str:
    finding = tags.find(code, Kind.NECK).finding
    assert finding is not None
    return finding.words


def test_either_tag_of_a_pair_finds_the_instrument() -> None:
    body = tags.of_serial(PAIR)
    assert tags.find(retired(), Kind.NECK) == tags.Found(retired(), body_tag=body or "")


def test_the_old_tag_of_a_neck_that_parted_finds_nothing_any_more() -> None:
    part("store")
    assert "hung on K-2088 and is void since" in sentence(retired())
    assert sentence(retired()).endswith(": its neck was paired.")


def test_a_tag_of_a_scrapped_neck_says_that_it_is_scrap() -> None:
    part()
    assert sentence(retired()).endswith("hung on K-2088, which was scrapped 2031-03-03.")


def test_a_tag_that_retired_with_its_neck_is_not_replaced() -> None:
    outcome = door.record(act("P-01", "", reason="Lost"), door.TagReplaced(retired()))
    assert rules(outcome) == ["tag void"]
    assert outcome.findings[0].then == "The body's tag speaks for both: replace that one."


def test_the_tag_of_a_body_without_a_neck_is_replaced_as_any() -> None:
    part()
    old = tags.of_serial(PAIR)
    assert door.record(act("P-01", "", reason="Wet"), door.TagReplaced(old or "")).done
    assert tags.of_serial(PAIR) != old


# --- the journal ---


def test_parting_and_pairing_anew_are_made_again_from_the_journal() -> None:
    see(arrive("K-2091"))
    door.record(act("P-01", "", reason="Looked"), door.Freed(now(PAIR).id))
    part("store")
    name("K-2091")
    assert_built_to_the_pair(NOW + timedelta(days=7))
    part(serial="Q-1043")
    see(tag_of("K-2095"))
    assert now(PAIR).frozen is not None
    assert following.differences()[1] == []
