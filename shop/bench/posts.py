"""The check before anything is drilled: each machine on its post, and a photo of the back."""

from __future__ import annotations

import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.bench.views import alone, ground
from shop.craft import fit
from shop.craft.finding import Finding, any_stop, warn
from shop.craft.hardware import SpecFacts, TunerSet, Worm
from shop.craft.head import draw
from shop.craft.head.drawing import Dot
from shop.craft.head.stringing import ORDINALS
from shop.floor import board, photos
from shop.floor.board import State, Work
from shop.floor.door import Act, Placed, record
from shop.people.gate import BadgeRequest, needs

NO_PHOTO: Final = ("The camera is broken", "The lens is dirty", "The lead looked at it")
# "6", "6o", "1'": what a machine may be marked with.
MARK: Final = re.compile(r"[0-9A-Za-z']{1,4}")


@dataclass(frozen=True, slots=True)
class Look:
    """How far the look at the machines has come.

    Posts are walked and the mark on each is answered: one place to look at, one tap, and what
    is read is what is there. ``by_mark`` turns it round: a mark is called out and its post is
    tapped.
    """

    walk: tuple[Dot, ...]  # the posts seen from the back, each column from nut to tip
    marks: Mapping[str, str] = field(default_factory=dict)  # by post, in the order read
    at: str = ""  # the post that was tapped to be read now
    by_mark: bool = False

    @classmethod
    def of(cls, spec: SpecFacts, sent: Mapping[str, str]) -> Look:
        """The look as the form carried it along; what it cannot mean is left out."""
        dots = draw(spec, "back").dots
        walk = tuple(sorted(dots, key=lambda dot: (dot.side != "left", dot.post.order)))
        keys = {dot.post.key for dot in walk}
        pairs = [one.partition("=") for one in sent.get("read", "").split()]
        marks = {key: mark for key, _, mark in pairs if key in keys and MARK.fullmatch(mark)}
        at = sent.get("at", "")
        return cls(walk, marks, at if at in keys else "", sent.get("by") == "mark")

    @property
    def read(self) -> str:
        """What was read, as the form carries it along."""
        return " ".join(f"{key}={mark}" for key, mark in self.marks.items())

    @property
    def known(self) -> tuple[str, ...]:
        """The marks of this head's machines, from the lowest string to the highest."""
        marks = [dot.post.mark for dot in self.walk]
        return tuple(sorted(marks, key=lambda mark: (-int(mark.strip("o'")), mark)))

    @property
    def asked(self) -> Dot | None:
        """The post to read now: the one tapped, else the first one not read."""
        tapped = (dot for dot in self.walk if dot.post.key == self.at)
        unread = (dot for dot in self.walk if dot.post.key not in self.marks)
        return next(tapped, None) or next(unread, None)

    @property
    def called(self) -> str:
        """The mark called out now, where marks are called out."""
        found = set(self.marks.values())
        left = (mark for mark in self.known if mark not in found)
        return next(left, "") if self.by_mark and self.asked else ""

    @property
    def last(self) -> str:
        """The mark read last."""
        return list(self.marks.values())[-1] if self.marks else ""

    def answered(self, sent: Mapping[str, str]) -> tuple[Look, Finding | None]:
        """The look after this tap, and what to say of a mark that is none."""
        if go := sent.get("go"):
            return replace(self, at="", by_mark=go == "mark"), None
        if "undo" in sent:
            return replace(self, at="", marks=dict(list(self.marks.items())[:-1])), None
        if post := sent.get("post"):
            known = any(dot.post.key == post for dot in self.walk)
            if self.called and known:
                return self._with(post, self.called), None
            return replace(self, at=post, by_mark=False), None
        if (text := sent.get("mark", "")) and self.asked:
            mark = _as_marked(text)
            if not MARK.fullmatch(mark):
                return self, _no_mark(text)
            return self._with(self.asked.post.key, mark), None
        return self, None

    def _with(self, post: str, mark: str) -> Look:
        rest = {key: one for key, one in self.marks.items() if key != post}
        return replace(self, at="", marks=rest | {post: mark})


@dataclass(frozen=True, slots=True)
class Place:
    """A post on the page, as it lies on the head seen from the back."""

    key: str
    side: str
    order: str
    mark: str  # read on its machine
    asked: bool
    belongs: str  # the mark that belongs there, where another sits


def plan(now: State, look: Look) -> list[tuple[Place | None, Place | None]]:
    """The head as rows from the tip to the nut, each with its left and its right post."""
    asked = look.asked if not look.called else None
    rows: dict[int, dict[str, Place]] = {}
    for dot in look.walk:
        post, mark = dot.post, look.marks.get(dot.post.key, "")
        wrong = bool(mark and fit.placed(now.call, {post.key: mark}))
        rows.setdefault(post.order, {})[dot.side] = Place(
            key=post.key,
            side=dot.side,
            order=ORDINALS[post.order - 1],
            mark=mark,
            asked=dot is asked,
            belongs=post.mark if wrong else "",
        )
    return [
        (rows[order].get("left"), rows[order].get("right")) for order in sorted(rows, reverse=True)
    ]


def to_see(machines: TunerSet) -> tuple[str, ...]:
    """What to look at where machines carry no mark."""
    if machines.left and machines.right:
        sides = (
            f"Seen from the FRONT: {machines.left} left machines on the left, "
            f"{machines.right} right machines on the right."
        )
    else:
        side = "left" if machines.left else "right"
        sides = f"Seen from the FRONT: all {machines.posts} machines on the {side}."
    end = "nut" if machines.worm is Worm.NUT else "tip"
    return sides, f"Every worm nearest the {end}.", "Every button turns and touches nothing."


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def posts(request: BadgeRequest, code: str) -> HttpResponse:
    """Look at the machines from the back, post by post, and take their photo."""
    now = ground(code)
    look = Look.of(now.sheet.spec, request.POST)
    if "record" in request.POST:
        return _record(request, code, now, look)
    work = board.work(now, board.asking(request, timezone.now()))
    if work.stop is None or not _ready(work):
        return redirect("bench:instrument", code)
    told: tuple[Finding, ...] = ()
    if request.method == "POST":
        look, said = look.answered(request.POST)
        told = (said,) if said else ()
    elif now.standing.get("positions") and "again" not in request.GET:
        return _found_wrong(request, code, now, look)
    return _shown(request, code, now, look, work.stop.code, told)


def _ready(work: Work) -> bool:
    """Whether machines are placed here now: the tray and the readings come first."""
    placed_here = work.here and work.stop is not None and work.stop.facts.positions
    return placed_here and not work.wants_tray and not work.wants_readings


def _record(request: BadgeRequest, code: str, now: State, look: Look) -> HttpResponse:
    operation = request.POST.get("operation", "")
    if nobody := alone(request):
        return _shown(request, code, now, look, operation, nobody, status=422)
    act = Act.of(request, timezone.localtime())
    try:
        picture = _sent(request)
    except photos.Unreadable as why:
        told = warn("photo", str(why), "What you read is kept.")
        return _shown(request, code, now, look, operation, (told,), status=422)
    outcome = record(act, Placed(now.id, operation, look.marks, picture))
    if not outcome.done:
        return _shown(request, code, now, look, operation, outcome.findings, status=422)
    if any_stop(outcome.findings):
        return redirect("bench:posts", code)
    return redirect(f"/{code}?after={act.key}")


def _sent(request: HttpRequest) -> photos.Picture | None:
    sent = request.FILES.get("photo")
    # One byte more than allowed is enough to know that it is too big.
    return photos.prepared(sent.read(photos.MAX_BYTES + 1)) if sent else None


def _shown(
    request: BadgeRequest,
    code: str,
    now: State,
    look: Look,
    operation: str,
    told: tuple[Finding, ...],
    status: int = 200,
) -> HttpResponse:
    machines = board.machines(now)
    marked = machines is not None and machines.marked
    asked = look.asked if marked else None
    shown = _page(code, now) | {
        "look": look,
        "asked": asked,
        "asked_order": ORDINALS[asked.post.order - 1] if asked else "",
        "marked": marked,
        "plan": plan(now, look) if marked else [],
        "to_see": to_see(machines) if machines else (),
        "back": draw(now.sheet.spec, "back", machines),
        "operation": operation,
        "told": told,
        "no_photo": NO_PHOTO,
        "reason": request.POST.get("reason", ""),
        "unseen": any(one.rule == "photo" for one in told),
    }
    template = "bench/_posts.html" if request.htmx else "bench/posts.html"
    return render(request, template, shown, status=status)


def _found_wrong(request: BadgeRequest, code: str, now: State, look: Look) -> HttpResponse:
    """The machines that sit on another's post, until they are looked at again."""
    look = replace(look, marks=board.marks_read(now.id))
    rows = plan(now, look)
    wrong = [one for row in rows for one in row if one and one.belongs]
    shown = _page(code, now) | {
        "wrong": len(wrong),
        "of": len(look.walk),
        "plan": rows,
        "told": now.standing["positions"],
        "photos": board.photos(now.id)[-1:],
    }
    return render(request, "bench/posts.html", shown)


def _page(code: str, now: State) -> dict[str, Any]:
    here = reverse("bench:posts", args=[code])
    return {"code": code, "here": here, "now": now, "spec": now.sheet.spec, "key": uuid.uuid4()}


def _as_marked(text: str) -> str:
    """A mark as typed or scanned, written as marks are here."""
    return text.strip().replace("\u2019", "'").replace("O", "o")


def _no_mark(text: str) -> Finding:
    return warn(
        "mark",
        f"{text.strip()[:40]} is no machine's mark.",
        "Read it off the machine: a figure, with an o or ' where strings run in pairs.",
    )


@require_safe
@needs("tag.scan")
def photo(request: BadgeRequest, sha256: str, *, small: bool = False) -> HttpResponse:
    """A picture that was kept with a step, for whoever is signed in; a ``small`` one for lists.

    It never changes, but each look asks again: a phone that was handed on shows it to nobody
    who may not see it.
    """
    picture = photos.small(sha256) if small else photos.kept(sha256)
    if picture is None:
        raise Http404
    etag = f'"{sha256}-small"' if small else f'"{sha256}"'
    answer = get_conditional_response(request, etag=etag)
    if answer is None:
        answer = HttpResponse(picture, content_type="image/jpeg")
        answer["Content-Disposition"] = f'inline; filename="{sha256[:8]}.jpg"'
    answer["ETag"] = etag
    answer["Cache-Control"] = "private, no-cache"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
