"""A job at the press: drawn, recorded name by name, laid onto its sheets.

Nothing of it is half there. What is drawn is on disk before the first deed is recorded, each
deed is a short transaction of its own, and the file is laid out from what was recorded. A run
that is cut off anywhere can be gone on with.
"""

from __future__ import annotations

import logging
import time
from datetime import datetime, timedelta
from typing import Any, Final, cast
from uuid import uuid5

from django.utils import timezone, translation

from shop.craft.imposing import Edge
from shop.floor import door
from shop.paper import drafts, placing, press
from shop.paper.drafts import Draft, Row
from shop.paper.models import Job
from shop.paper.placing import Sheet, Sheeting
from shop.paper.refusing import Unknown

SMALL: Final = 12  # names that are printed while one waits
BEAT_S: Final = 0.5  # from one sign of life to the next, at least
SILENT: Final = timedelta(minutes=2)  # a run that gave no sign for so long is taken for dead

log = logging.getLogger(__name__)


class StopAsked(Exception):
    """Somebody wants this job to stop, and nothing of it is recorded yet."""


class TakenOver(Exception):
    """This run was given up for dead and another goes on with the job."""


def run(job_id: int) -> None:
    """Print a job that waits. Another that is printed, or being printed, is left alone.

    One that waited in vain has been told as stopped, and may have been printed otherwise since:
    it is begun only when somebody goes on with it. What goes wrong stops the job, to be gone on
    with, and is logged.
    """
    job = Job.objects.select_related("printer").filter(pk=job_id, state="waiting").first()
    if job is None:
        return
    if given_up(job):
        log.warning("Print job %s waited in vain and is not begun by itself any more.", job_id)
        found = Job.objects.filter(pk=job_id, state="waiting", beat_at=job.beat_at)
        found.update(state="stopped")
        return
    sign = Sign.first(job, "recording" if drafts.there(job.key) else "drawing")
    if sign is None:
        return
    try:
        with translation.override(job.language):
            _print(job, sign)
    except StopAsked:
        sign.last_word(job)
    except TakenOver:
        log.warning("Print job %s is gone on with by another.", job_id)
    except BaseException as why:
        log.exception("Print job %s stopped.", job_id)
        sign.last_word(job)
        if not isinstance(why, Exception):
            raise  # the machine is being switched off


def _print(job: Job, sign: Sign) -> None:
    """Draw it, record it, lay it out: each goes on from where a run before it came to."""
    if (draft := drafts.kept(job.key)) is None:
        draft = _drawn(job, sign)
        sign.begins_to_record()
    names, refused = _recorded(job, draft, sign)
    pages = _laid_out(job, draft, names)
    sign.give(
        state="done",
        drawn=len(names),
        sheets=pages,
        refused=[[name, why] for name, why in refused],
        done_at=timezone.now(),
    )
    drafts.drop(job.key)


def given_up(job: Job) -> bool:
    """Whether a job that is not at its end is taken for dead: its run gives no sign any more, or
    it waits where nothing runs, or just ran, that it could wait for."""
    since = timezone.now() - SILENT
    if (job.beat_at or job.asked_at) >= since:
        return False
    others = Job.objects.filter(beat_at__gte=since).exclude(state="waiting")
    return job.state != "waiting" or not others.exists()


class Sign:
    """The sign of life of one run: how far it is, written into the job now and then.

    A run that has given none for long is taken for dead, and the job may be gone on with. So
    each sign is put in the place of the last one of the same run: where that is not found,
    another run has begun.
    """

    def __init__(self, job_id: int, state: str, at: datetime) -> None:
        self._job_id = job_id
        self._state = state
        self._at = at
        self._given = time.monotonic()

    @classmethod
    def first(cls, job: Job, state: str) -> Sign | None:
        """Take the job on; None where another just did."""
        now = timezone.now()
        waiting = Job.objects.filter(pk=job.pk, state="waiting")
        taken = waiting.update(state=state, beat_at=now, stop_asked=False)
        return cls(job.pk, state, now) if taken else None

    def drawing(self, done: int) -> None:
        """So many are drawn. Raises ``StopAsked`` and ``TakenOver``."""
        if self._due():
            self.give(unless_stopped=True, drawn=done)

    def begins_to_record(self) -> None:
        """From here on it is not stopped any more. Raises ``StopAsked`` and ``TakenOver``."""
        self.give(unless_stopped=True, state="recording", drawn=0)
        self._state = "recording"

    def recording(self, done: int) -> None:
        """So many are recorded. Raises ``TakenOver``."""
        if self._due():
            self.give(drawn=done)

    def give(self, *, unless_stopped: bool = False, **more: Any) -> None:
        """Write a sign now. Raises ``StopAsked`` and ``TakenOver``, and has written none."""
        now = timezone.now()
        mine = Job.objects.filter(pk=self._job_id, beat_at=self._at)
        own = mine.filter(stop_asked=False) if unless_stopped else mine
        if not own.update(beat_at=now, **more):
            raise StopAsked if mine.exists() else TakenOver
        self._at, self._given = now, time.monotonic()

    def last_word(self, job: Job) -> None:
        """It is over for this run; whoever took over is not disturbed. What was drawn is kept
        where some of it may be recorded."""
        mine = Job.objects.filter(pk=self._job_id, beat_at=self._at)
        if mine.update(state="stopped") and self._state == "drawing":
            drafts.drop(job.key)

    def _due(self) -> bool:
        return time.monotonic() - self._given >= BEAT_S


def _drawn(job: Job, sign: Sign) -> Draft:
    """Everything that can be drawn of a job, and on disk."""
    many = len(job.names) > SMALL
    sheaf = press.draw(job.form, job.names, timezone.now(), many=many, told=sign.drawing)
    draft = Draft.of(sheaf)
    sign.give(unless_stopped=True, drawn=len(job.names))
    drafts.keep(job.key, draft)
    return draft


def _recorded(job: Job, draft: Draft, sign: Sign) -> tuple[set[str], list[tuple[str, str]]]:
    """Record what was drawn: the names that are printed, and those that are not with why."""
    names, refused = set(), list(draft.refused)
    for number, row in enumerate(draft.rows, 1):
        if why := _refusal(job, row):
            refused.append((row.name, why))
        else:
            names.add(row.name)
        sign.recording(number)
    asked = {name: place for place, name in enumerate(press.cleaned(job.names))}
    return names, sorted(refused, key=lambda one: asked[one[0]])


def _refusal(job: Job, row: Row) -> str:
    """Why the journal does not take this print; nothing where it has it now."""
    if row.deed is None:
        return ""
    act = door.Act(
        key=uuid5(job.key, row.name),
        by_id=job.asked_by_id,
        by=job.badge,
        at=timezone.now(),
        station=job.station,
        device=job.device,
        claimed_at=job.claimed_at,
        reason=job.reason,
    )
    try:
        outcome = door.record(act, row.deed)
    except LookupError:
        return str(Unknown(row.name, "instrument"))
    if outcome.done:
        return ""
    return " ".join(f"{one.words} {one.then}".strip() for one in outcome.findings)


def _laid_out(job: Job, draft: Draft, names: set[str]) -> int:
    """The file of these names, in its place; how many pages it has, none for no names."""
    if not names:
        return 0
    sheaf = draft.sheaf(names)
    sheet, edge = cast("Sheet", job.sheet), cast("Edge", job.edge)
    on = Sheeting.on(job.printer, sheet, job.first, edge)
    pdf = placing.placed(sheaf, on, names)
    drafts.finish(job.key, press.bound(pdf, sheaf.title))
    return len(pdf.pages)
