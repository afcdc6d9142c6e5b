"""Whatever is done to the journal behind the door is found, and the row is named."""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, timedelta
from typing import Any

import pytest
from django.core.management import CommandError
from django.db import DataError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import localtime

from shop.floor import chain, verifying
from shop.floor.models import Entry, Instrument, Loose
from shop.floor.verifying import Seal, Told, verify
from tests.floor.morning import now, step
from tests.floor.tampering import (
    alter,
    loose_rows,
    plain_rows,
    relink,
    rows_of,
    said_by,
    take_away,
    tampering,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

SERIAL = "Q-1043"
ALTERED = "it does not give its link: it was altered, or the row before it got another link."
AT = 3  # the place of the row that is meddled with: others stand before it and after it


@pytest.fixture
def unguarded() -> Iterator[None]:
    with tampering():
        yield


def found(kept: Seal | None = None) -> list[str]:
    """What going over the journal says."""
    said: list[str] = []
    told = verify(said.append, kept)
    assert told.wrong == len(said)
    return said


def whole() -> Told:
    said: list[str] = []
    told = verify(said.append)
    assert said == []
    return told


def name(row: Entry, place: str = "row") -> str:
    at = f"{localtime(row.at):%Y-%m-%d %H:%M}"
    return f"Row {row.pk} ({row.subject}, {place} {row.seq}, {row.kind} by {row.who}, {at})"


# --- the chain itself ---


def test_the_hash_is_the_published_one() -> None:
    """FIPS 180-2, appendix B.1: the message "abc"."""
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert hashlib.sha256(b"abc").hexdigest() == digest


def test_every_link_is_what_anybody_works_out_from_the_row_and_the_link_before() -> None:
    """Worked out here from the description alone: SHA-256 (FIPS 180-4, as in hashlib) over the
    link before, a line feed, and the row as one line of JSON."""
    links: dict[int | None, str] = {}
    for kept in Entry.objects.order_by("pk").values():
        row: dict[str, Any] = {**kept}
        del row["id"]
        link = row.pop("link")
        row["key"] = str(row["key"])
        for moment in ("at", "claimed_at"):
            if row[moment]:
                row[moment] = row[moment].astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f+00:00")
        line = json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        before = links.get(row["instrument_id"], "")
        assert hashlib.sha256(f"{before}\n{line}".encode()).hexdigest() == link
        links[row["instrument_id"]] = link
    assert links.pop(None) == Loose.objects.get().link
    assert links == dict(Instrument.objects.values_list("pk", "link"))
    assert len(links) > 10


# --- what is found ---


def test_a_journal_as_it_was_written_is_whole() -> None:
    told = whole()
    assert told.rows == Entry.objects.count()
    assert told.chains == Instrument.objects.count() + 1
    assert told.seal.row == Entry.objects.latest("pk").pk


def test_the_seal_is_the_hash_of_all_links_in_their_order() -> None:
    links = "".join(Entry.objects.order_by("pk").values_list("link", flat=True))
    assert whole().seal.sign == hashlib.sha256(links.encode()).hexdigest()


ALTERATIONS: dict[str, Any] = {
    "words": lambda row: {"reason": "Never said"},
    "moment": lambda row: {"at": row.at + timedelta(microseconds=1)},
    "badge": lambda row: {"who": "P-12"},
    "person": lambda row: {"by_id": row.by_id + 1},
    "answer": lambda row: {"outcome": "refused"},
    "findings": lambda row: {"findings": [{"rule": "R01"}]},
    "what was done": lambda row: {"data": {**row.data, "operation": "N20"}},
    "key": lambda row: {"key": uuid.UUID(int=row.key.int ^ 1)},
    "form": lambda row: {"form": 9},
    "link": lambda row: {"link": "0" * 64},
}


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize("what", [one for one in ALTERATIONS if one != "link"])
def test_an_altered_row_is_named_once_and_no_row_after_it(what: str) -> None:
    row = rows_of(SERIAL)[AT]
    alter(row, **ALTERATIONS[what](row))
    row.refresh_from_db()
    assert found() == [f"{name(row)}: {ALTERED}"]


@pytest.mark.usefixtures("unguarded")
def test_an_altered_link_is_named_at_the_row_and_at_the_one_that_was_built_on_it() -> None:
    row, after = rows_of(SERIAL)[AT : AT + 2]
    alter(row, **ALTERATIONS["link"](row))
    assert found() == [f"{name(row)}: {ALTERED}", f"{name(after)}: {ALTERED}"]


@pytest.mark.usefixtures("unguarded")
def test_rows_of_no_instrument_are_a_chain_too() -> None:
    row = loose_rows()[AT]
    alter(row, device="another phone")
    assert found() == [f"{name(row, 'loose row')}: {ALTERED}"]


@pytest.mark.usefixtures("unguarded")
def test_each_of_several_altered_rows_is_named() -> None:
    rows = [rows_of(serial)[AT] for serial in (SERIAL, "Q-1058", "Q-1049")]
    for row in rows:
        alter(row, reason="Never said")
    rows.sort(key=lambda row: row.pk)
    assert found() == [f"{name(row)}: {ALTERED}" for row in rows]


@pytest.mark.usefixtures("unguarded")
def test_an_altered_row_with_a_link_to_match_is_told_by_the_next() -> None:
    row, after = rows_of(SERIAL)[AT : AT + 2]
    relinked(row, reason="Never said")
    assert found() == [f"{name(after)}: {ALTERED}"]


@pytest.mark.usefixtures("unguarded")
def test_a_last_row_with_a_link_to_match_is_told_by_its_instrument() -> None:
    row = rows_of(SERIAL)[-1]
    relinked(row, reason="Never said")
    assert found() == [f"{SERIAL}: row {row.seq} at the end is not the one that was written."]


def relinked(row: Entry, **columns: Any) -> None:
    """Alter a row of the instrument and give it a link to match, and no other row."""
    before = rows_of(SERIAL)[row.seq - 2]
    alter(row, **columns)
    row.refresh_from_db()
    alter(row, link=chain.link_of(row, before.link))


@pytest.mark.usefixtures("unguarded")
def test_a_row_taken_out_is_missed_before_the_one_that_followed() -> None:
    rows = rows_of(SERIAL)
    take_away(rows[AT])
    after = rows[AT + 1]
    gone = f"row {rows[AT].seq} is not before it: taken out, or put elsewhere."
    assert found() == [f"{name(after)}: {gone}"]


@pytest.mark.usefixtures("unguarded")
def test_several_rows_taken_out_are_missed_together() -> None:
    rows = rows_of(SERIAL)
    take_away(*rows[AT : AT + 2])
    gone = f"rows {AT + 1} to {AT + 2} are not before it: taken out, or put elsewhere."
    assert found() == [f"{name(rows[AT + 2])}: {gone}"]


@pytest.mark.usefixtures("unguarded")
def test_a_first_row_taken_out_is_missed() -> None:
    first, second, *_ = rows_of(SERIAL)
    take_away(first)
    assert found() == [f"{name(second)}: row 1 is not before it: taken out, or put elsewhere."]


@pytest.mark.usefixtures("unguarded")
def test_rows_cut_off_the_end_are_missed() -> None:
    rows = rows_of(SERIAL)
    take_away(rows[-1])
    last = len(rows)
    assert found() == [f"{SERIAL}: row {last} is missing at the end."]
    take_away(rows[-2])
    assert found() == [f"{SERIAL}: rows {last - 1} to {last} are missing at the end."]


@pytest.mark.usefixtures("unguarded")
def test_loose_rows_cut_off_the_end_are_missed() -> None:
    rows = loose_rows()
    take_away(rows[-1])
    assert found() == [f"The rows of no instrument: row {len(rows)} is missing at the end."]


@pytest.mark.usefixtures("unguarded")
def test_an_instrument_all_of_whose_rows_are_gone_is_named() -> None:
    take_away(*rows_of(SERIAL))
    assert found() == [f"{SERIAL}: no row of the journal speaks of it."]


@pytest.mark.usefixtures("unguarded")
def test_an_instrument_that_never_had_a_row_is_named() -> None:
    take_away(*rows_of(SERIAL))
    Instrument.objects.filter(body__serial=SERIAL).update(seq=0, link="")
    assert found() == [f"{SERIAL}: no row of the journal speaks of it."]


@pytest.mark.usefixtures("unguarded")
def test_both_of_two_rows_that_changed_their_numbers_are_named() -> None:
    row, other = rows_of(SERIAL)[AT : AT + 2]
    alter(row, seq=9999)
    alter(other, seq=row.seq)
    alter(row, seq=other.seq)
    for one in (row, other):
        one.refresh_from_db()
    assert found() == [
        f"{name(row)}: it was written as row {AT + 1}; its number was altered.",
        f"{name(other)}: it was written as row {AT + 2}; its number was altered.",
    ]


@pytest.mark.usefixtures("unguarded")
def test_both_of_two_rows_that_changed_their_places_are_named() -> None:
    row, other = rows_of(SERIAL)[AT : AT + 2]
    free = Entry.objects.latest("pk").pk + 1
    alter(row, id=free)
    alter(other, id=row.pk)
    plain_rows().filter(pk=free).update(id=other.pk)
    row.pk, other.pk = other.pk, row.pk
    assert found() == [
        f"{name(other)}: row {AT + 1} is not before it: taken out, or put elsewhere.",
        f"{name(row)}: it stands after row {AT + 2}, out of its order.",
    ]


@pytest.mark.usefixtures("unguarded")
def test_a_row_with_another_number_is_told_from_rows_that_are_missing() -> None:
    row = rows_of(SERIAL)[AT]
    alter(row, seq=60)
    row.refresh_from_db()
    assert found() == [f"{name(row)}: it was written as row {AT + 1}; its number was altered."]


@pytest.mark.usefixtures("unguarded")
def test_a_forged_row_is_named_and_its_instrument_never_wrote_it() -> None:
    forged = rows_of(SERIAL)[-1]
    forged.pk, forged.key, forged.seq = None, uuid.uuid4(), forged.seq + 1
    Entry.objects.bulk_create([forged])
    assert found() == [
        f"{name(forged)}: {ALTERED}",
        f"{SERIAL}: row {forged.seq} at the end came in by no door.",
    ]


@pytest.mark.usefixtures("unguarded")
def test_a_forged_row_in_the_place_of_one_taken_out_is_named() -> None:
    rows = rows_of(SERIAL)
    forged = Entry.objects.get(pk=rows[AT].pk)
    take_away(rows[AT])
    forged.key, forged.reason = uuid.uuid4(), "Never said"
    Entry.objects.bulk_create([forged])
    assert found() == [f"{name(forged)}: {ALTERED}"]


@pytest.mark.usefixtures("unguarded")
def test_a_forged_row_far_ahead_does_not_make_all_that_follow_look_wrong() -> None:
    rows = rows_of(SERIAL)
    forged, number = Entry.objects.get(pk=rows[AT].pk), rows[AT].pk
    take_away(rows[AT])
    forged.key, forged.seq = uuid.uuid4(), 600
    forged.link = "f" * 64
    Entry.objects.bulk_create([forged])
    said = found()
    assert said[0].startswith(f"Row {number} (")
    assert "rows 4 to 599 are not before it" in said[0]
    assert [one for one in said if one.startswith(f"Row {rows[-1].pk} (")] == []


@pytest.mark.usefixtures("unguarded")
def test_a_row_moved_to_another_instrument_is_missed_here_and_found_there() -> None:
    row, after = rows_of(SERIAL)[AT : AT + 2]
    there = now("Q-1041")  # its rows were written before
    alter(row, instrument_id=there.id, seq=there.seq + 1)
    row.refresh_from_db()
    said = found()
    assert f"{name(row)}: {ALTERED}" in said
    assert f"{name(after)}: row {AT + 1} is not before it: taken out, or put elsewhere." in said
    assert f"Q-1041: row {there.seq + 1} at the end came in by no door." in said
    assert len(said) == 3


@pytest.mark.usefixtures("unguarded")
@pytest.mark.parametrize(
    ("column", "value"),
    [("at", "2031-13-45 00:00:00"), ("data", '{"words": "\\ud800"}'), ("key", "x")],
)
def test_what_no_row_can_hold_is_named_where_a_database_takes_it(column: str, value: str) -> None:
    row = rows_of(SERIAL)[AT]
    statement = f"UPDATE floor_entry SET {column} = %s WHERE id = %s"
    if connection.vendor == "postgresql":
        with pytest.raises(DataError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement, [value, row.pk])
        assert found() == []
    else:
        with connection.cursor() as cursor:
            cursor.execute(statement, [value, row.pk])
        (said,) = found()
        assert said.startswith(f"Row {row.pk} ({SERIAL}, row {row.seq}, {row.kind} by {row.who}")
        assert said.endswith(f"): {ALTERED}")
        assert ("at no moment" in said) == (column == "at")


@pytest.mark.usefixtures("unguarded")
def test_a_journal_of_many_pages_is_read_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    sealed = whole().seal
    monkeypatch.setattr(verifying, "PAGE", 7)
    monkeypatch.setattr(verifying._PAGE, "_composed", {})
    counts: list[int] = []
    said: list[str] = []
    told = verify(said.append, on_the_way=counts.append)
    assert (said, told.seal) == ([], sealed)
    assert counts[:2] == [7, 14]
    assert counts[-1] == told.rows == Entry.objects.count()
    row = rows_of(SERIAL)[-1]
    alter(row, reason="Never said")
    row.refresh_from_db()
    assert found() == [f"{name(row)}: {ALTERED}"]


# --- the seal ---


def test_a_seal_still_holds_when_more_was_written() -> None:
    sealed = whole().seal
    step(SERIAL, "N40")
    assert found(sealed) == []
    assert whole().seal != sealed


@pytest.mark.usefixtures("unguarded")
def test_a_chain_written_anew_as_a_whole_is_told_by_the_seal_alone() -> None:
    sealed = whole().seal
    row = rows_of(SERIAL)[AT]
    alter(row, reason="Never said")
    relink(SERIAL)
    assert found() == []
    (said,) = found(sealed)
    assert said == (
        f"Seal at row {sealed.row}: it does not hold. Rows up to there were rewritten, "
        "taken out or put in since it was noted."
    )


@pytest.mark.usefixtures("unguarded")
def test_an_end_cut_off_with_all_that_points_to_it_is_told_by_the_seal() -> None:
    step(SERIAL, "N40")
    sealed = whole().seal
    take_away(rows_of(SERIAL)[-1])
    relink(SERIAL)
    assert found() == []
    assert len(found(sealed)) == 1


# --- the command ---


def test_the_command_says_that_all_is_whole_and_prints_the_seal() -> None:
    told = whole()
    assert said_by("verify_journal").splitlines() == [
        f"{told.rows} rows, {told.chains} chains, whole.",
        f"Seal at row {told.seal.row}: {told.seal.sign}",
    ]


def test_a_seal_is_given_to_the_command_as_it_was_printed() -> None:
    seal = said_by("verify_journal").splitlines()[-1]
    row, _, sign = seal.removeprefix("Seal at row ").partition(": ")
    for given in (seal, f"{row}:{sign}", f"{row}: {sign}\n"):
        assert said_by("verify_journal", "--seal", given).splitlines()[-1] == (
            f"The seal at row {row} holds."
        )


@pytest.mark.parametrize("given", ["", "12", "12:", "12:ab12", "x:" + "a" * 64, "1:" + "g" * 64])
def test_what_is_no_seal_is_said_to_be_none(given: str) -> None:
    if not given:
        assert "holds" not in said_by("verify_journal", "--seal", given)
        return
    with pytest.raises(CommandError, match="A seal is the number of a row, a colon and 64"):
        said_by("verify_journal", "--seal", given)


@pytest.mark.usefixtures("unguarded")
def test_the_command_fails_when_anything_is_wrong() -> None:
    alter(rows_of(SERIAL)[AT], reason="Never said")
    with pytest.raises(CommandError, match=r"chains: 1 thing found\. Keep this list") as failed:
        said_by("verify_journal")
    assert failed.value.returncode == 1


def test_a_seal_that_does_not_hold_fails_the_command() -> None:
    row = Entry.objects.latest("pk").pk
    with pytest.raises(CommandError, match="1 thing found"):
        said_by("verify_journal", "--seal", f"{row}:{'0' * 64}")


def test_many_are_told_in_groups_of_three_digits() -> None:
    assert verifying.grouped(1_031_212) == "1 031 212"


def test_the_proof_of_one_reads_its_rows_and_its_end_at_one_moment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Else a row that is written in between is said to be missing at the end."""
    inside: list[int] = []
    one_moment = verifying._at_one_moment

    @contextmanager
    def counted(**how: bool) -> Iterator[None]:
        with CaptureQueriesContext(connection) as caught, one_moment(**how):
            yield
        inside.append(len(caught))

    monkeypatch.setattr(verifying, "_at_one_moment", counted)
    number = now(SERIAL).id
    with CaptureQueriesContext(connection) as every:
        assert verifying.proof(number).wrong == ()
    assert inside == [len(every)]
    assert len(every) >= 2
