"""The prints of the last week: how far each is, its PDF, and what of it was not printed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRefresh

from shop.paper import jobs, press
from shop.paper.forms import FORMS
from shop.paper.jobs import Standing
from shop.paper.models import Job
from shop.people.gate import BadgeRequest, needs


@dataclass(frozen=True)
class Told:
    """A job as a page tells it."""

    job: Job

    @property
    def form(self) -> str:
        """What is printed, in words; its key where the shop has no such form any more."""
        known = FORMS.get(self.job.form)
        return known.words if known else self.job.form

    @property
    def care(self) -> str:
        """What it is printed on and hangs by."""
        known = FORMS.get(self.job.form)
        return known.care if known else ""

    @cached_property
    def standing(self) -> Standing:
        return jobs.standing(self.job)

    @property
    def there(self) -> bool:
        """Whether its PDF is there to be printed."""
        return jobs.pdf(self.job) is not None

    @property
    def missing(self) -> int:
        """How many of it were not printed."""
        return len(self.job.refused) if self.standing.state == "done" else 0

    @property
    def kind(self) -> str:
        """The mark it stands under."""
        if self.standing.busy:
            return "wait"
        if self.standing.state == "stopped" or not self.job.drawn:
            return "stop"
        return "warn" if self.missing else "clear"

    @property
    def percent(self) -> int:
        return round(100 * self.standing.share)


@never_cache
@require_safe
@needs("paper.print")
def listed(request: BadgeRequest) -> HttpResponse:
    """Everything printed in the last week, the newest first."""
    since = timezone.now() - jobs.KEPT
    rows = [Told(job) for job in Job.objects.filter(asked_at__gte=since)]
    return render(request, "paper/jobs.html", {"rows": rows, "days": jobs.KEPT.days})


@never_cache
@require_safe
@needs("paper.print")
def job(request: BadgeRequest, job_id: int) -> HttpResponse:
    """How far a print is; when it is done, what came of it."""
    told = Told(_job(job_id))
    if not request.htmx:
        return render(request, "paper/job.html", {"told": told})
    # The page looks again by itself, which is no sign that somebody is there.
    request.session.modified = False
    if not told.standing.busy:
        return HttpResponseClientRefresh()
    return render(request, "paper/_standing.html", {"told": told})


@never_cache
@require_safe
@needs("paper.print")
def pdf(request: BadgeRequest, job_id: int) -> HttpResponse:
    """The finished print, to be sent to a printer."""
    found = _job(job_id)
    path = jobs.pdf(found)
    if path is None:
        raise Http404
    missing = {name for name, _ in found.refused}
    names = [name for name in found.names if name not in missing]
    name = press.file_name(found.form, names)
    return HttpResponse(
        path.read_bytes(),
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


@require_POST
@needs("paper.print")
def stop(request: BadgeRequest, job_id: int) -> HttpResponse:
    """Stop it while nothing of it is recorded."""
    jobs.stop(_job(job_id))
    return redirect("paper:job", job_id)


@require_POST
@needs("paper.print")
def go_on(request: BadgeRequest, job_id: int) -> HttpResponse:
    """Go on with one that stopped; what is recorded already is not recorded again."""
    jobs.resume(_job(job_id))
    return redirect("paper:job", job_id)


def _job(job_id: int) -> Job:
    found = Job.objects.filter(pk=job_id).first()
    if found is None:
        raise Http404
    return found
