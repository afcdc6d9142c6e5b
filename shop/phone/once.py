"""What a phone kept and sends is done exactly once, whatever was lost on the way.

An act that comes from the phone's outbox carries its key in the header ``Idempotency-Key`` (the
IETF's draft-ietf-httpapi-idempotency-key-header-07), and beside it how it came to wait: see
``shop/floor/deeds/sending.py``. The key, what was sent and the answer lie in one journal row,
written with the deed: sent again, the answer is read from there and nothing is done.
"""

from __future__ import annotations

import hashlib
import json
import logging
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import timedelta
from html.parser import HTMLParser
from typing import Any, Final, Literal
from uuid import UUID

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import Resolver404, resolve
from django.utils import timezone
from django.views.csrf import csrf_failure

from shop.craft.finding import Finding, stop
from shop.craft.sent import tapped
from shop.floor import board
from shop.floor.door import Sending, phone_clock
from shop.people import badges
from shop.people.languages import say
from shop.phone.who import phone_of, proven

log = logging.getLogger(__name__)

Outcome = Literal["recorded", "already", "refused"]

HEADER: Final = "Idempotency-Key"
# What a phone keeps: acts at a bench and at a look, the clerk's check of a tray's line, and
# nothing else.
# Nowhere else does a request come under another badge than the one that is signed in.
CHECK: Final = "kitting:check"
RACKED: Final = frozenset({"inspection:case-in", "inspection:case-out"})
LOOK_AREA: Final = "inspection:look-area"
NOTE: Final = "inspection:note"
ACTS: Final = frozenset(
    f"bench:{name}"
    for name in (
        "call", "case", "cut", "defect", "gauge", "hand", "happened", "join", "late", "left",
        "neck", "posts", "record", "repair", "set-up-frets-heights", "start-step", "take", "tray",
    )
) | {CHECK, LOOK_AREA, NOTE} | RACKED  # fmt: skip
# RFC 8941, section 3.3.3: a string stands in quotation marks.
QUOTED: Final = re.compile(r'"([^"\\]*)"')
# A phone is that far off at most: more is no clock, and no number a header should bring.
FURTHEST: Final = timedelta(days=366 * 60)
LONGEST: Final = 400  # letters of a reason told from a page
NO_KEY: Final = "What this phone sent carries no key. Open the page again."
OTHER_BODY: Final = stop(
    "key",
    "This entry carries the key of another one.",
    "Open the instrument again and record from there.",
    call="",
)
GONE: Final = stop(
    "gone",
    "Nothing in this shop takes this entry any more.",
    "Open the instrument and record it from there.",
    call="",
)


class Once:
    """Takes what phones kept; every other request goes by."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method != "POST" or HEADER not in request.headers:
            return self.get_response(request)
        if not _is_act(request):
            response = self.get_response(request)
            status = response.status_code
            gone = Answer("refused", (GONE.words, GONE.then), status=status)
            return _told(gone) if status in {404, 405, 410} else response  # of an older release
        key = _key(request)
        if key is None:
            return JsonResponse({"why": say(NO_KEY)}, status=400)
        try:
            answered = _before_the_view(request, key)
        except OperationalError as why:
            return _busy(why)
        return answered or _as_asked(request, self.get_response(request))

    def process_exception(self, request: HttpRequest, why: Exception) -> HttpResponse | None:
        """A view of an act that the database kept waiting for too long: Django brings what it
        raised here, and nowhere else."""
        kept = hasattr(request, "sending")
        return _busy(why) if kept and isinstance(why, OperationalError) else None


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of an act, as a phone is told: ``next`` is the page to go on to."""

    outcome: Outcome
    words: tuple[str, ...] = ()
    next: str = ""
    status: int = 200


def no_token(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form token that does not hold any more: a phone that kept the act asks for another."""
    if HEADER in request.headers:
        return JsonResponse({"why": "token"}, status=403)
    return csrf_failure(request, reason)


def _before_the_view(request: HttpRequest, key: UUID) -> HttpResponse | None:
    """The answer, where none of the view is needed; else the request is made ready for it."""
    if not request.user.is_authenticated:
        return _nobody()
    mark = _mark(request)
    if (before := board.answered(key)) is not None:
        return _again(request, before, mark)
    unknown = _come_as(request, mark)
    return _told(Answer("refused", (unknown.words, unknown.then))) if unknown else None


def _busy(why: Exception) -> HttpResponse:
    """Another holds the database for too long. The phone tries later with the same key, so what
    was done all the same is not done twice."""
    log.warning("An act from a phone has to come again: %s", why)
    return JsonResponse({"why": "busy"}, status=503)


def _is_act(request: HttpRequest) -> bool:
    try:
        return resolve(request.path_info).view_name in ACTS
    except Resolver404:
        return False


def _key(request: HttpRequest) -> UUID | None:
    """The key in the header, which is that of the form too."""
    found = QUOTED.fullmatch(request.headers[HEADER].strip())
    try:
        key = UUID(found[1]) if found else None
    except ValueError:
        return None
    return key if key and request.POST.get("key", "") == str(key) else None


def _mark(request: HttpRequest) -> str:
    """Tells what was sent from anything else: where to, every field, every file."""
    fields = [(name, request.POST.getlist(name)) for name in sorted(request.POST)]
    files = [
        (name, hashlib.file_digest(one, "sha256").hexdigest())
        for name in sorted(request.FILES)
        for one in request.FILES.getlist(name)
    ]
    for name in request.FILES:
        for one in request.FILES.getlist(name):
            one.seek(0)
    said = [request.path, [pair for pair in fields if pair[0] != "csrfmiddlewaretoken"], files]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def _come_as(request: HttpRequest, mark: str) -> Finding | None:
    """Let the request be of the badge it was tapped under, wherever it was sent from. Says so
    where there is no such badge."""
    at = timezone.now()
    asked = request.headers.get("X-Phone-Badge", "").strip().upper()[:8]
    sender = request.user
    assert sender.is_authenticated
    claimed = sender if asked in {"", sender.code} else badges.active(asked)
    if claimed is None:
        words = f"Badge {asked} is not known here."
        return stop("badge", words, "Do it again under a badge of this shop.", call="")
    captured = phone_clock(request.POST.get("clock", ""))
    sent_at = phone_clock(request.headers.get("X-Phone-Sent", ""))
    moment = tapped(captured, sent_at, at, _offset(request))
    proof = request.headers.get("X-Phone-Proof", "")
    # Chosen without the network it was not signed in at the tap, even where it sends by itself.
    itself = claimed == sender and "X-Phone-Claimed" not in request.headers
    request.sending = Sending(  # type: ignore[attr-defined]
        badge=claimed.code,
        station=request.headers.get("X-Phone-Station", "")[:4],
        tapped=moment,
        sent_at=sent_at,
        received_at=at,
        sent_by=sender.code,
        proven=itself or proven(claimed.code, proof, phone_of(request), moment.at),
        mark=mark,
    )
    request.user = claimed
    return None


def _offset(request: HttpRequest) -> timedelta | None:
    """What the phone's clock was off before the tap, in its own words: milliseconds."""
    try:
        off = timedelta(milliseconds=int(request.headers["X-Phone-Offset"][:15]))
    except (KeyError, ValueError):
        return None
    return off if abs(off) < FURTHEST else None


def _again(request: HttpRequest, before: dict[str, Any], mark: str) -> HttpResponse:
    """It was sent before: its answer, or that the key is another act's."""
    if before["sent_mark"] and before["sent_mark"] != mark:
        return _told(Answer("refused", (OTHER_BODY.words, OTHER_BODY.then), status=422))
    done = before["result"] == "recorded"
    words = _words(Finding.of_row(one) for one in before["findings"])
    return _told(Answer("already" if done else "refused", words, _onward(request)))


def _nobody() -> HttpResponse:
    return JsonResponse({"why": "sign in"}, status=401)


def _as_asked(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The answer as the phone wants it: a page to show, or what became of it."""
    if response.status_code == 401:
        return _nobody()
    if response.status_code >= 500 or response.get("Content-Type", "").startswith(
        "application/json"
    ):
        return response
    heard = request.sending.heard  # type: ignore[attr-defined]
    outcome: Outcome = heard[-1].result if heard else "refused"
    onward = response["Location"] if 300 <= response.status_code < 400 else ""
    if "text/html" in request.headers.get("Accept", "") and not onward:
        response["X-Outcome"] = outcome
        return response
    words = _words(heard[-1].findings) if heard else _read_from(response)
    return _told(Answer(outcome, words, onward))


def _words(findings: Iterable[Finding]) -> tuple[str, ...]:
    return tuple(f"{one.words} {one.then}".strip() for one in findings)


def _told(answer: Answer) -> HttpResponse:
    said = {"outcome": answer.outcome, "words": [*map(say, answer.words)], "next": answer.next}
    response = JsonResponse(said, status=answer.status)
    response["X-Outcome"] = answer.outcome
    if answer.next:
        response["X-Next"] = answer.next
    return response


def _onward(request: HttpRequest) -> str:
    """The page to go on from: of the instrument that the act was about, the first part of its
    address; of the tray's next line."""
    checked = resolve(request.path_info).view_name == CHECK
    return request.path if checked else f"/{request.path.split('/')[1]}"


def _read_from(response: HttpResponse) -> tuple[str, ...]:
    """Why nothing was recorded, where the page says so: its alerts, else its first words."""
    page = _Page()
    page.feed(response.content.decode(response.charset, "replace"))
    alerts, main = (
        [said for one in told if (said := " ".join(one.split())[:LONGEST])]
        for told in (page.alerts, page.main)
    )
    return tuple(alerts or main)


class _Page(HTMLParser):
    """What a page says under ``role="alert"``, and in its main part."""

    VOID: Final = frozenset({"br", "img", "input", "link", "meta", "hr", "path", "use", "rect"})

    def __init__(self) -> None:
        super().__init__()
        self.alerts: list[str] = []
        self.main: list[str] = []
        self._open: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self.VOID:
            return
        role = "alert" if ("role", "alert") in attrs else "main" if tag == "main" else ""
        if tag == "template":
            role = "aside"  # not shown yet, so not said
        unsaid = any(one == "aside" for _, one in self._open)
        self._open.append((tag, role))
        if role == "alert" and not unsaid:
            self.alerts.append("")
        elif role == "main" and not self.main:
            self.main.append("")

    def handle_endtag(self, tag: str) -> None:
        while self._open and any(one == tag for one, _ in self._open):
            if self._open.pop()[0] == tag:
                break

    def handle_data(self, data: str) -> None:
        roles = {role for _, role in self._open}
        if "aside" in roles:
            return
        if "alert" in roles:
            self.alerts[-1] += f"{data} "
        if "main" in roles and self.main:
            self.main[-1] += f"{data} "
