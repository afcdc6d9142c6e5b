"""A print that was asked for: made once, recorded whole, stopped and gone on with."""

from __future__ import annotations

import functools
import uuid
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from unittest import mock

import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django_tasks_db.models import DBTaskResult

from shop.floor import board, door
from shop.floor.models import Entry, Print, Tag
from shop.paper import drafts, jobs, press, running, typesetting
from shop.paper.laid_out import LaidOut
from shop.paper.models import Job, Printer
from shop.paper.placing import NoSuchPlace, Sheeting
from shop.paper.refusing import NoneChosen, PressMissing, UnknownForm
from tests.floor.morning import NOW, act, now

pytestmark = pytest.mark.usefixtures("morning", "db", "folder")

LAY_OUT = typesetting.lay_out
ONE_TO_A_PAGE = Sheeting("single", 0, "long")
THREE = ["Q-1043", "Q-1058", "Q-1055"]


class Clock:
    """The shop's clock, which stands until it is moved."""

    def __init__(self) -> None:
        self.at = NOW

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    stands = Clock()
    monkeypatch.setattr("django.utils.timezone.now", stands)
    return stands


@functools.cache
def _laid_out(page: str, styles: tuple[str, ...]) -> LaidOut:
    """The same page laid out is the same PDF: once is enough for all of these tests."""
    return LAY_OUT(page, styles)


@pytest.fixture(autouse=True)
def _quick_press(monkeypatch: pytest.MonkeyPatch) -> None:
    """In this process; ``test_worker.py`` has the real one."""
    monkeypatch.setattr(typesetting, "processors", lambda: 1)
    monkeypatch.setattr(typesetting, "lay_out", _laid_out)


@pytest.fixture(autouse=True)
def _no_worker() -> Iterator[None]:
    """No process is started by these tests."""
    with mock.patch("subprocess.Popen", side_effect=AssertionError("a process was started")):
        yield


@pytest.fixture
def every_beat(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sign of life at every name, however quick the press is."""
    monkeypatch.setattr(running, "BEAT_S", 0)


def many(count: int = jobs.SMALL + 3) -> list[str]:
    """The serials of so many instruments, more than are printed while one waits."""
    return sorted(one.serial for one in board.all_open())[:count]


def ask(
    form: str,
    names: list[str],
    on: Sheeting = ONE_TO_A_PAGE,
    again: bool = False,
    by: door.Act | None = None,
) -> Job:
    return jobs.ask(form, names, on, None, by or act("P-01", ""), again)


def pages(job: Job) -> list[str]:
    """The text of every page of the finished PDF, without spaces."""
    path = jobs.pdf(job)
    assert path is not None
    return ["".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages]


def printed(form: str) -> list[tuple[str, int]]:
    return list(Print.objects.filter(form=form).order_by("pk").values_list("of", "copy"))


def missing(job: Job) -> list[str]:
    return [name for name, _ in job.refused]


def why(job: Job, name: str) -> str:
    return str(dict(job.refused)[name])


# --- asking ---


def test_a_few_are_printed_and_recorded_before_the_answer(folder: Path) -> None:
    job = ask("traveller", THREE)
    assert (job.state, job.drawn, job.refused) == ("done", 3, [])
    assert printed("traveller") == [(serial, 1) for serial in THREE]
    read = pages(job)
    assert len(read) == job.sheets
    stand = ["".join(read).find(serial) for serial in THREE]
    assert stand == sorted(stand)
    assert -1 not in stand
    assert [path.name for path in (folder / "prints").iterdir()] == [f"{job.key}.pdf"]


def test_what_is_recorded_is_what_stands_on_the_page() -> None:
    job = ask("traveller", ["Q-1043"])
    copy = Print.objects.get(form="traveller")
    entry = Entry.objects.get(kind="print")
    assert (copy.code[0], copy.code) == ("P", entry.data["code"])
    shown = f"{copy.code[:4]}-{copy.code[4:]}"
    assert any(shown in page for page in pages(job))
    assert (entry.who, entry.key) == ("P-01", uuid.uuid5(job.key, "Q-1043"))
    assert entry.data["drawn_from"] == entry.seq - 1


def test_a_second_tap_is_the_same_print() -> None:
    by = act("P-01", "")
    first = ask("traveller", THREE, by=by)
    second = ask("traveller", THREE, by=by)
    assert (first.pk, first.sheets) == (second.pk, second.sheets)
    assert (Job.objects.count(), Print.objects.count()) == (1, 3)


def test_a_second_tap_at_a_tag_is_not_taken_for_a_reprint() -> None:
    by = act("P-01", "")
    first = ask("body_tag", ["Q-1043"], by=by)
    assert ask("body_tag", ["Q-1043"], by=by).pk == first.pk
    assert printed("body_tag") == [("Q-1043", 1)]


@pytest.mark.parametrize(
    "other",
    [
        lambda by: ask("traveller", ["Q-1043"], by=by),
        lambda by: ask("tray_label", THREE, by=by),
        lambda by: ask("traveller", THREE, Sheeting("a4", 0, "long"), by=by),
        lambda by: ask("traveller", THREE, by=act("P-41", "", key=by.key)),
    ],
    ids=["names", "form", "sheet", "somebody else"],
)
def test_the_key_of_another_print_is_told(other: Callable[[door.Act], Job]) -> None:
    by = act("P-01", "")
    ask("traveller", THREE, by=by)
    with pytest.raises(jobs.OtherPrint, match=r"key of another.*Open the page again"):
        other(by)
    assert Job.objects.count() == 1


def test_nothing_chosen_and_forms_nobody_knows_are_told_and_nothing_is_made() -> None:
    with pytest.raises(NoneChosen):
        ask("traveller", [" ", "\0"])
    with pytest.raises(UnknownForm):
        ask("letter", THREE)
    with pytest.raises(NoSuchPlace, match="no place 17"):
        ask("body_tag", THREE, Sheeting("a4", 16, "long"))
    assert Job.objects.count() == 0


def test_more_than_one_print_takes_is_told_with_how_many_goes() -> None:
    names = [f"X-{number}" for number in range(jobs.MOST + 1)]
    with pytest.raises(jobs.TooMany, match=r"2001 were chosen.*takes 2000.*2 goes"):
        ask("traveller", names)
    assert Job.objects.count() == 0


def test_a_reason_is_kept_without_what_a_database_cannot_keep() -> None:
    """PostgreSQL keeps the zero character in no text."""
    job = ask("traveller", ["Q-10\x0043"], by=act("P-01", "", reason="It is\0 lost"))
    assert (job.names, job.reason, job.state) == (["Q-1043"], "It is lost", "done")
    assert Entry.objects.get(kind="print").reason == "It is lost"


def test_where_printing_is_off_nothing_is_made() -> None:
    with mock.patch.object(press, "typesetter", side_effect=PressMissing("no Pango")):  # noqa: SIM117
        with pytest.raises(PressMissing):
            ask("traveller", THREE)
    assert Job.objects.count() == 0


def test_a_serial_nobody_knows_is_told_by_name_and_the_rest_is_printed() -> None:
    job = ask("traveller", ["Q-1043", "Q-9999", "Q-1058"])
    assert (job.state, job.drawn, missing(job)) == ("done", 2, ["Q-9999"])
    assert why(job, "Q-9999").startswith("There is no instrument Q-9999 here.")
    assert jobs.standing(job).words == f"2 of 3 printed, on {job.sheets} pages."


def test_a_print_of_which_nothing_came_is_done_and_has_no_file() -> None:
    job = ask("traveller", ["Q-9998", "Q-9999"])
    assert (job.state, job.drawn, missing(job)) == ("done", 0, ["Q-9998", "Q-9999"])
    assert jobs.pdf(job) is None
    assert jobs.standing(job).words == "0 of 2 printed."


# --- again ---


def test_a_traveller_printed_again_is_copy_two_and_needs_no_reason() -> None:
    ask("traveller", ["Q-1043"])
    job = ask("traveller", ["Q-1043"])
    assert printed("traveller") == [("Q-1043", 1), ("Q-1043", 2)]
    assert "copy2" in pages(job)[0].lower()


def test_a_tag_printed_before_is_told_with_when_and_nothing_is_made(clock: Clock) -> None:
    ask("body_tag", ["Q-1043"])
    clock.at += timedelta(hours=1)
    with pytest.raises(jobs.PrintedBefore, match=r"Q-1043.*2031-03-03.*void.*why") as told:
        ask("body_tag", THREE)
    assert told.value.them == [("Q-1043", NOW)]
    assert jobs.printed_before("body_tag", THREE) == [("Q-1043", NOW)]
    assert printed("body_tag") == [("Q-1043", 1)]
    assert Job.objects.count() == 1


def test_a_tag_is_not_printed_again_without_a_reason() -> None:
    ask("body_tag", ["Q-1043"])
    with pytest.raises(jobs.PrintedBefore):
        ask("body_tag", ["Q-1043"], again=True)
    assert Job.objects.count() == 1


def test_a_tag_printed_again_with_a_reason_makes_the_old_one_void() -> None:
    ask("body_tag", ["Q-1043"])
    old = Tag.objects.get(body__serial="Q-1043", void_at=None)
    job = ask("body_tag", ["Q-1043"], again=True, by=act("P-01", "", reason="Lost at polish"))
    new = Tag.objects.get(body__serial="Q-1043", void_at=None)
    old.refresh_from_db()
    assert (old.void_at, old.void_why) == (NOW, "reprint")
    shown = f"{new.code[:4]}-{new.code[4:]}"
    assert all(shown in page for page in pages(job) if "Q-1043" in page)
    entry = Entry.objects.filter(kind="print").latest("pk")
    assert (entry.reason, entry.data["code"]) == ("Lost at polish", new.code)


def test_only_tags_are_asked_about_before_they_are_printed_again() -> None:
    ask("traveller", THREE)
    assert jobs.printed_before("traveller", THREE) == []


def test_what_was_printed_before_is_asked_in_the_same_statements_for_any_number() -> None:
    names = many(12)
    ask("body_tag", names)
    with CaptureQueriesContext(connection) as few:
        jobs.printed_before("body_tag", names[:2])
    with CaptureQueriesContext(connection) as more:
        assert len(jobs.printed_before("body_tag", names)) == len(names)
    assert len(more) == len(few)


# --- in the background ---


def test_many_are_put_off_and_printed_by_the_worker(
    django_capture_on_commit_callbacks: Any,
) -> None:
    with (
        mock.patch("shop.paper.working.start") as start,
        django_capture_on_commit_callbacks(execute=True),
    ):
        job = ask("traveller", many())
        assert not start.called, "a worker that is called too early finds nothing"
    assert start.call_count == 1
    assert (job.state, jobs.pdf(job)) == ("waiting", None)
    assert jobs.standing(job).words == f"{len(many())} wait for the press."
    task = DBTaskResult.objects.get()
    assert task.args_kwargs == {"args": [job.pk], "kwargs": {}}
    jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.drawn) == ("done", len(many()))
    assert [serial for serial, _ in printed("traveller")] == many()


def test_a_job_that_is_printed_is_not_printed_again() -> None:
    job = ask("traveller", THREE)
    jobs.run(job.pk)
    assert printed("traveller") == [(serial, 1) for serial in THREE]


def test_progress_is_told_while_it_is_drawn_and_recorded(every_beat: None) -> None:
    job, told = ask("traveller", many()), []

    def look(*_: Any) -> None:
        job.refresh_from_db()
        told.append((jobs.standing(job).words, jobs.standing(job).share))

    drawing, recording = running.Sign.drawing, running.Sign.recording

    def drawn(sign: running.Sign, done: int) -> None:
        drawing(sign, done)
        look()

    def recorded(sign: running.Sign, done: int) -> None:
        recording(sign, done)
        look()

    with (
        mock.patch.object(running.Sign, "drawing", drawn),
        mock.patch.object(running.Sign, "recording", recorded),
    ):
        jobs.run(job.pk)
    count = len(many())
    said = [words for words, _ in told]
    assert f"7 of {count} drawn." in said
    assert f"{count} of {count} drawn." in said
    assert f"7 of {count} written into the history." in said
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)


def test_signs_of_life_are_written_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """Time stands: a quick press writes how the job began and how it ended, nothing between."""
    monkeypatch.setattr("time.monotonic", lambda: 1.0)
    job = ask("traveller", many())
    with CaptureQueriesContext(connection) as said:
        jobs.run(job.pk)
    written = [one["sql"] for one in said if one["sql"].startswith('UPDATE "paper_job"')]
    assert len(written) == 4, "taken on, drawn, recording, done"


def test_each_more_of_a_kind_costs_the_same_few_statements(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("time.monotonic", lambda: 1.0)

    def statements(names: list[str]) -> int:
        job = ask("traveller", names)
        Job.objects.filter(pk=job.pk).update(state="waiting")
        drafts.forget(job.key)
        with CaptureQueriesContext(connection) as said:
            jobs.run(job.pk)
        return len(said)

    ones = [statements(names) for names in (many(13), many(14), many(15))]
    assert ones[2] - ones[1] == ones[1] - ones[0] < 20


def test_two_jobs_of_one_traveller_at_once_count_their_copies_apart(
    every_beat: None,
) -> None:
    """Both are drawn as copy 1 before either is recorded: the second says so and is not printed."""
    one, other = ask("traveller", many()), ask("traveller", many())
    recorded = running._recorded

    def meanwhile(*given: Any) -> Any:
        with mock.patch.object(running, "_recorded", recorded):
            jobs.run(other.pk)
        return recorded(*given)

    with mock.patch.object(running, "_recorded", meanwhile):
        jobs.run(one.pk)
    one.refresh_from_db()
    other.refresh_from_db()
    assert (other.state, other.drawn, other.refused) == ("done", len(many()), [])
    assert (one.state, one.drawn, missing(one)) == ("done", 0, many())
    assert "printed at the same moment." in why(one, many()[0])
    assert jobs.pdf(one) is None
    assert printed("traveller") == [(serial, 1) for serial in many()]


def test_what_the_door_refuses_is_told_by_name_and_its_pages_are_left_out() -> None:
    job = ask("body_tag", many())
    ask("body_tag", [many()[4]])
    real = press.draw

    def drawn_before(*given: Any, **more: Any) -> Any:
        """The sheaf as if the other tag had not been printed when this one was drawn."""
        Tag.objects.filter(body__serial=many()[4]).update(printed_at=None)
        sheaf = real(*given, **more)
        Tag.objects.filter(body__serial=many()[4]).update(printed_at=NOW)
        return sheaf

    with mock.patch.object(press, "draw", drawn_before):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.drawn, missing(job)) == ("done", len(many()) - 1, [many()[4]])
    assert why(job, many()[4]).endswith(".")
    text = "".join(pages(job))
    assert many()[4] not in text
    assert all(serial in text for serial in many() if serial != many()[4])


def test_an_instrument_that_is_gone_when_it_is_recorded_is_told(clock: Clock) -> None:
    job, gone = ask("traveller", many()), now(many()[2]).id
    record = door.record

    def refuses(by: door.Act, deed: Any) -> door.Outcome:
        if deed.instrument_id == gone:
            raise LookupError(f"no instrument {gone}")
        return record(by, deed)

    with mock.patch.object(door, "record", refuses):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, missing(job)) == ("done", [many()[2]])
    assert why(job, many()[2]).startswith(f"There is no instrument {many()[2]} here.")


# --- stopped, and gone on with ---


def test_a_job_that_waits_is_stopped_at_once() -> None:
    job = ask("traveller", many())
    jobs.stop(job)
    jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count()) == ("stopped", 0)
    assert jobs.standing(job).words == "Stopped. Nothing of it was printed or recorded."


def test_a_job_stopped_while_it_is_drawn_records_nothing(every_beat: None, folder: Path) -> None:
    job, drawing = ask("traveller", many()), running.Sign.drawing

    def stopped(sign: running.Sign, done: int) -> None:
        if done == 3:
            jobs.stop(job)
            assert "It stops in a moment." in jobs.standing(job).words
        drawing(sign, done)

    with mock.patch.object(running.Sign, "drawing", stopped):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count(), Entry.objects.filter(kind="print").count()) == (
        "stopped", 0, 0,
    )  # fmt: skip
    assert not list(folder.glob("prints/*"))
    jobs.resume(job)
    jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count()) == ("done", len(many()))


def test_a_job_is_not_stopped_once_it_is_recorded() -> None:
    job, record = ask("traveller", many()), door.record

    def stop_asked(by: door.Act, deed: Any) -> door.Outcome:
        job.refresh_from_db()
        assert not jobs.standing(job).may_stop
        jobs.stop(job)
        return record(by, deed)

    with mock.patch.object(door, "record", stop_asked):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count()) == ("done", len(many()))


def cut_off_at(number: int, how: BaseException) -> Any:
    """The machine stops at the deed of this number."""
    record, calls = door.record, iter(range(1, 10_000))

    def cut(by: door.Act, deed: Any) -> door.Outcome:
        if next(calls) == number:
            raise how
        return record(by, deed)

    return mock.patch.object(door, "record", cut)


def test_a_job_cut_off_while_it_is_recorded_goes_on_with_the_pages_it_had(
    clock: Clock, folder: Path, caplog: pytest.LogCaptureFixture
) -> None:
    names = many()
    job = ask("traveller", names)
    with cut_off_at(3, RuntimeError("the disk is full")):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count(), jobs.pdf(job)) == ("stopped", 2, None)
    assert "the disk is full" in caplog.text
    assert "Go on: what is written already is not written again." in jobs.standing(job).words
    clock.at += timedelta(minutes=7)
    jobs.resume(job)
    with mock.patch.object(press, "draw", side_effect=AssertionError("drawn anew")):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.refused) == ("done", [])
    assert printed("traveller") == [(serial, 1) for serial in names]
    assert Entry.objects.filter(kind="print").count() == len(names)
    codes = Print.objects.values_list("code", flat=True)
    text = "".join(pages(job))
    assert all(f"{code[:4]}-{code[4:]}" in text for code in codes)
    assert [path.name for path in (folder / "prints").iterdir()] == [f"{job.key}.pdf"]


def test_a_job_cut_off_between_its_file_and_its_end_is_finished_without_another_copy() -> None:
    job = ask("traveller", many())
    with (
        mock.patch.object(press, "bound", side_effect=KeyboardInterrupt),
        pytest.raises(KeyboardInterrupt),
    ):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count()) == ("stopped", len(many()))
    jobs.resume(job)
    jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count()) == ("done", len(many()))


def test_a_job_cut_off_before_it_is_recorded_is_drawn_as_things_stand_then(folder: Path) -> None:
    job = ask("traveller", many())
    with mock.patch.object(running.Sign, "begins_to_record", side_effect=RuntimeError("cut")):
        jobs.run(job.pk)
    assert not list(folder.glob("prints/*"))
    ask("traveller", [many()[0]])
    jobs.resume(job)
    jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.refused) == ("done", [])
    assert (many()[0], 2) in printed("traveller")


def switched_off(job: Job) -> None:
    """The machine stops dead while the job is drawn: nobody says a last word."""
    with mock.patch.object(running.Sign, "last_word"), cut_off_at(1, RuntimeError("power cut")):
        jobs.run(job.pk)
    job.refresh_from_db()


def test_a_job_that_gives_no_sign_for_two_minutes_has_stopped(clock: Clock) -> None:
    job = ask("traveller", many())
    switched_off(job)
    assert (job.state, jobs.standing(job).state) == ("recording", "recording")
    jobs.resume(job)
    assert job.state == "recording", "one that may be alive is left alone"
    clock.at += timedelta(minutes=2, seconds=1)
    told = jobs.standing(job)
    assert (told.state, told.may_go_on, told.busy) == ("stopped", True, False)
    jobs.resume(job)
    assert jobs.standing(job).state == "waiting"
    jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, Print.objects.count()) == ("done", len(many()))


def test_a_run_taken_for_dead_that_was_not_ends_without_a_word(clock: Clock) -> None:
    job = ask("traveller", many())
    real = press.draw

    def slow(*given: Any, **more: Any) -> Any:
        """A machine that slept for an hour: somebody goes on with the job meanwhile."""
        sheaf = real(*given, **more)
        clock.at += timedelta(hours=1)
        with mock.patch.object(press, "draw", real):
            job.refresh_from_db()
            jobs.resume(job)
            clock.at += timedelta(seconds=1)
            jobs.run(job.pk)
        return sheaf

    with mock.patch.object(press, "draw", slow):
        jobs.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.drawn, job.refused) == ("done", len(many()), [])
    assert printed("traveller") == [(serial, 1) for serial in many()]
    assert jobs.pdf(job) is not None


def test_a_job_waits_as_long_as_another_is_printed_and_no_longer(clock: Clock) -> None:
    first, second = ask("traveller", many()), ask("tray_label", many())
    clock.at += timedelta(minutes=3)
    Job.objects.filter(pk=first.pk).update(state="drawing", beat_at=clock.at)
    assert jobs.standing(second).state == "waiting"
    clock.at += timedelta(minutes=3)
    assert jobs.standing(second).state == "stopped", "nobody works any more"


def test_a_job_waits_for_the_worker_between_one_print_and_the_next(clock: Clock) -> None:
    first, second = ask("traveller", many()), ask("tray_label", many())
    clock.at += timedelta(minutes=3)
    Job.objects.filter(pk=first.pk).update(state="done", beat_at=clock.at)
    assert jobs.standing(second).state == "waiting"
    jobs.run(second.pk)
    second.refresh_from_db()
    assert second.state == "done"


def test_a_job_that_waited_in_vain_voids_no_tags_when_a_worker_comes_late(clock: Clock) -> None:
    """The machine went off before the worker began; the tags were printed otherwise since."""
    late = ask("body_tag", many())
    clock.at += timedelta(hours=1)
    assert jobs.standing(late).state == "stopped"
    ask("body_tag", many()[:3], by=act("P-01", "", at=clock.at))
    hang = set(Tag.objects.filter(void_at=None).values_list("code", flat=True))
    clock.at += timedelta(hours=1)
    jobs.run(late.pk)
    late.refresh_from_db()
    assert (late.state, jobs.standing(late).may_go_on) == ("stopped", True)
    assert set(Tag.objects.filter(void_at=None).values_list("code", flat=True)) == hang
    assert len(printed("body_tag")) == 3
    jobs.resume(late)
    jobs.run(late.pk)
    late.refresh_from_db()
    assert (late.state, missing(late)) == ("done", many()[:3]), "printed without these"


def test_going_on_with_a_job_that_is_done_changes_nothing() -> None:
    job = ask("traveller", THREE)
    jobs.resume(job)
    jobs.stop(job)
    assert (job.state, Print.objects.count()) == ("done", 3)


def test_a_small_job_that_stopped_is_printed_when_it_is_gone_on_with() -> None:
    with cut_off_at(2, RuntimeError("cut")):
        job = ask("traveller", THREE)
    assert job.state == "stopped"
    jobs.resume(job)
    assert (job.state, job.drawn) == ("done", 3)


# --- kept for a week ---


def test_a_print_is_kept_for_a_week_and_forgotten_with_the_next_after_it(
    clock: Clock, folder: Path
) -> None:
    old = ask("traveller", THREE)
    kept = ask("traveller", many())
    assert jobs.standing(old).kept_until == NOW + timedelta(days=7)
    DBTaskResult.objects.update(enqueued_at=NOW)
    half = drafts.printed(kept.key).with_name(f"{kept.key}.draft.pdf.4711")
    half.write_bytes(b"%PDF")  # what was being written when the power went
    clock.at += timedelta(days=7)
    ask("tray_label", THREE, by=act("P-01", "", at=clock.at))
    assert jobs.pdf(old) is not None
    clock.at += timedelta(seconds=1)
    ask("tray_label", THREE, by=act("P-01", "", at=clock.at))
    assert not Job.objects.filter(pk__in=[old.pk, kept.pk]).exists()
    assert len(list(folder.glob("prints/*"))) == 2
    assert DBTaskResult.objects.count() == 0
    assert Print.objects.filter(form="traveller").count() == 3, "the journal keeps what was printed"


def test_a_job_that_is_gone_on_with_late_is_not_forgotten_under_way(clock: Clock) -> None:
    job = ask("traveller", many())
    clock.at += timedelta(days=8)
    jobs.resume(job)
    jobs.clear_old(clock.at)
    jobs.run(job.pk)
    job.refresh_from_db()
    assert job.state == "done"


# --- on sheets ---


def test_many_go_on_one_sheet_and_only_what_was_recorded() -> None:
    job = ask("body_tag", [*THREE, "Q-9999"], Sheeting("a4", 0, "long"))
    assert (job.sheets, job.drawn) == (2, 3)
    front, _ = pages(job)
    assert all(serial in front for serial in THREE)


def test_the_printer_that_was_chosen_moves_what_is_printed() -> None:
    def lower_left(job: Job) -> list[Any]:
        path = jobs.pdf(job)
        assert path is not None
        content = pypdf.PdfReader(path).pages[0].get_contents()
        assert content is not None
        return content.operations

    printer = Printer.objects.create(name="By the door", right_mm=2, down_mm=-1)
    on = Sheeting.on(printer, "a4", 0, "long")
    moved = jobs.ask("traveller", ["Q-1043"], on, printer, act("P-01", ""), again=False)
    still = ask("traveller", ["Q-1043"], Sheeting("a4", 0, "long"))
    assert (moved.printer, still.printer) == (printer, None)
    assert lower_left(moved) != lower_left(still)
