"""Prints that were asked for: made once, followed, stopped, gone on with, kept for a week."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.timezone import localtime
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _
from django_tasks_db.models import DBTaskResult

from shop.floor import board
from shop.floor.door import Act
from shop.paper import drafts, placing, press, running, working
from shop.paper.forms import form_of
from shop.paper.models import Job, Printer
from shop.paper.placing import Sheeting
from shop.paper.refusing import NoneChosen, NotPrinted
from shop.paper.running import SILENT, SMALL
from shop.paper.tasks import print_job

__all__ = ["MOST", "SILENT", "SMALL", "run"]

MOST: Final = 2000  # names in one job
KEPT: Final = timedelta(days=7)
DRAWING: Final = 0.9  # of a job's time; writing it into the history is the rest

run = running.run


class TooMany(NotPrinted):
    def __init__(self, count: int) -> None:
        super().__init__(
            _("%(count)s were chosen, and one print takes %(most)s. Print them in %(goes)s goes.")
            % {"count": count, "most": MOST, "goes": -(-count // MOST)}
        )


class PrintedBefore(NotPrinted):
    """``them``: name and when, of the tags in use that new ones would take the place of."""

    def __init__(self, them: Sequence[tuple[str, datetime]]) -> None:
        self.them = list(them)
        name, at = self.them[0]
        said = {"name": name, "at": f"{localtime(at):%Y-%m-%d %H:%M}", "count": len(self.them)}
        super().__init__(
            ngettext(
                "%(name)s has a tag that was printed %(at)s. A new one makes it void. Say why "
                "it is printed again.",
                "%(count)s have a tag that was printed already, %(name)s at %(at)s. New ones "
                "make them void. Say why they are printed again.",
                len(self.them),
            )
            % said
        )


class OtherPrint(NotPrinted):
    def __init__(self) -> None:
        super().__init__(
            _("This print carries the key of another. Open the page again and print from there.")
        )


def ask(
    form: str,
    names: Sequence[str],
    on: Sheeting,
    printer: Printer | None,
    act: Act,
    again: bool,
) -> Job:
    """One print of these names. A few are printed before the answer, more in the background.

    The same key is the same print: asked twice, it is made once. ``again``: tags that were
    printed before are printed anew, for the reason the act gives; the ones in use are void
    then.

    Raises ``NotPrinted``, and nothing is made: for an unknown form, nothing chosen or too
    much, what does not go on the sheet, a press that is not installed, a key that was used
    for another print; ``PrintedBefore`` where tags would be voided unasked.
    """
    kind, asked = form_of(form), press.cleaned(names)
    if not asked:
        raise NoneChosen
    if len(asked) > MOST:
        raise TooMany(len(asked))
    placing.sheets_of(kind, len(asked), on)
    reason = act.reason.replace("\0", "")  # PostgreSQL keeps it in no text
    said = {
        "form": form,
        "names": asked,
        "sheet": on.sheet,
        "first": on.first,
        "edge": on.edge,
        "printer_id": printer.pk if printer else None,
        "reason": reason,
        "asked_by_id": act.by_id,
        "station": act.station,
    }
    if job := Job.objects.filter(key=act.key).first():
        return _the_same(job, said)
    press.typesetter()
    before = printed_before(form, asked)
    if before and not (again and reason):
        raise PrintedBefore(before)
    clear_old(act.at)
    with transaction.atomic():
        job, made = Job.objects.get_or_create(
            key=act.key,
            defaults={
                **said,
                "badge": act.by,
                "language": get_language() or "en",
                "device": act.device,
                "claimed_at": act.claimed_at,
                "asked_at": act.at,
            },
        )
        if made and len(asked) > SMALL:
            _put_off(job)
    if not made:  # by a twin of this very moment
        return _the_same(job, said)
    if len(asked) <= SMALL:
        run(job.pk)
        job.refresh_from_db()
    return job


def _the_same(job: Job, said: dict[str, Any]) -> Job:
    if any(getattr(job, name) != value for name, value in said.items()):
        raise OtherPrint
    return job


def _put_off(job: Job) -> None:
    """Leave a job to the worker, who is called when it is in the database for good."""
    print_job.enqueue(job.pk)
    transaction.on_commit(working.start)


def printed_before(form: str, names: Sequence[str]) -> list[tuple[str, datetime]]:
    """Name and when, of the tags in use that would be void if these were printed now."""
    if form not in board.TAG_FORMS:
        return []
    found = board.by_serials(press.cleaned(names))
    coming = board.next_prints(list(found.values()), form, own_code=False)
    return [
        (name, at)
        for name in press.cleaned(names)
        if name in found
        and (its := coming.get(found[name].id)) is not None
        and (at := its.replaces) is not None
    ]


def stop(job: Job) -> None:
    """Stop a job that waits or is being drawn: nothing of it is recorded then. One that is
    being recorded goes on to its end."""
    Job.objects.filter(pk=job.pk, state="waiting").update(state="stopped", stop_asked=True)
    Job.objects.filter(pk=job.pk, state="drawing").update(stop_asked=True)
    job.refresh_from_db()


def resume(job: Job) -> None:
    """Go on with a job that stopped, by itself or because the machine did. What is recorded
    is not recorded again. One that is done or under way is left alone."""
    job.refresh_from_db()
    if _state(job) != "stopped":
        return
    with transaction.atomic():
        found = Job.objects.filter(pk=job.pk, state=job.state, beat_at=job.beat_at)
        mine = found.update(
            state="waiting", stop_asked=False, beat_at=timezone.now(), drawn=0, refused=[]
        )
        if mine and job.state == "drawing":
            drafts.drop(job.key)  # nothing was recorded of it: it is drawn as things stand now
        if mine and len(job.names) > SMALL:
            _put_off(job)
    if mine and len(job.names) <= SMALL:
        run(job.pk)
    job.refresh_from_db()


def pdf(job: Job) -> Path | None:
    """The finished PDF; None before it is finished, after its week, or where nothing came of
    the job."""
    path = drafts.printed(job.key)
    return path if job.state == "done" and path.exists() else None


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a job is. ``state`` as it is, whatever was last written of a run that is dead.
    ``share``: of the whole work, 0 to 1."""

    state: str
    words: str
    share: float
    kept_until: datetime

    @property
    def busy(self) -> bool:
        """Whether to look again in a moment."""
        return self.state in {"waiting", "drawing", "recording"}

    @property
    def may_stop(self) -> bool:
        return self.state in {"waiting", "drawing"}

    @property
    def may_go_on(self) -> bool:
        return self.state == "stopped"


def standing(job: Job) -> Standing:
    """How far a job is, in words."""
    state, count = _state(job), len(job.names)
    words, share = _words(job, state, count), 0.0
    if state == "done":
        share = 1.0
    elif job.state == "drawing":
        share = DRAWING * job.drawn / count
    elif job.state == "recording":
        share = DRAWING + (1 - DRAWING) * job.drawn / count
    return Standing(state, words, min(share, 1.0), (job.done_at or job.asked_at) + KEPT)


def _words(job: Job, state: str, count: int) -> str:
    said = {"done": job.drawn, "count": count, "missing": len(job.refused), "pages": job.sheets}
    if state == "done" and not job.drawn:
        return _("0 of %(count)s printed.") % said
    if state == "done":
        pages = ngettext("on %(pages)s page", "on %(pages)s pages", job.sheets) % said
        return _("%(done)s of %(count)s printed, %(on)s.") % {**said, "on": pages}
    if state == "stopped" and drafts.there(job.key):
        return _(
            "It stopped while the print was written into the history. Go on: what is written "
            "already is not written again."
        )
    if state == "stopped" and job.stop_asked:
        return _("Stopped. Nothing of it was printed or recorded.")
    if state == "stopped":
        return _("It stopped before anything was printed or recorded. Go on, and it is drawn anew.")
    if job.stop_asked:
        return _("%(done)s of %(count)s drawn. It stops in a moment.") % said
    if state == "recording":
        return _("%(done)s of %(count)s written into the history.") % said
    if state == "drawing":
        return _("%(done)s of %(count)s drawn.") % said
    return _("%(count)s wait for the press.") % said


def _state(job: Job) -> str:
    """The state of a job as it is now, whatever was last written of it."""
    over = job.state in {"done", "stopped"}
    return job.state if over or not running.given_up(job) else "stopped"


def clear_old(now: datetime) -> None:
    """Forget the jobs of more than a week ago and their files."""
    since = now - KEPT
    over = Q(done_at__lt=since) | Q(done_at=None, asked_at__lt=since)
    old = Job.objects.filter(over).filter(Q(beat_at=None) | Q(beat_at__lt=since))
    rows = list(old.values_list("pk", "key"))
    for _number, key in rows:
        drafts.forget(key)
    Job.objects.filter(pk__in=[number for number, _key in rows]).delete()
    DBTaskResult.objects.filter(enqueued_at__lt=since).delete()
