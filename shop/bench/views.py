"""The operator at a bench: scan, see the kit, check the tray, record."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.bench import drawings
from shop.bench.offers import offered, why_on
from shop.bench.onward import onward
from shop.catalogue import book
from shop.craft.code import Kind, Reading, read, read_station
from shop.craft.finding import Finding, any_stop, stop
from shop.floor import board, tags
from shop.floor.board import OnPaper, State
from shop.floor.door import (
    Act,
    CallMade,
    NeckSeen,
    Outcome,
    StepDone,
    StepJoined,
    StepStarted,
    StepTaken,
    TrayChecked,
    record,
)
from shop.people.gate import BadgeRequest, may, needs

LAST_TAGS = 3
LONGEST_STATION = 8  # letters of a station nobody knows, as it is told again
# Rows of the journal under the list of what is done.


def reading_of(request: HttpRequest, text: str) -> Reading:
    """The code in a scanned or typed text, read as forgivingly as is safe."""
    return read(text, _own(request))


def _own(request: HttpRequest) -> set[str]:
    """The addresses of this shop: as it is asked, and as it stands on tags."""
    return {request.get_host().lower(), settings.ADDRESS.split("://")[1].lower()}


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def scan(request: BadgeRequest) -> HttpResponse:
    """The scan screen; with a code, the way to what it stands for."""
    text = request.POST.get("code") or request.GET.get("code") or ""
    if not text and request.method == "GET":
        return render(request, "bench/scan.html", {"seen": request.session.get("seen_tags", [])})
    if here := read_station(text, _own(request)):
        return redirect("bench:at", here)
    reading = reading_of(request, text)
    finding = reading.finding
    if finding is None and reading.kind is Kind.GAUGE and board.tool_of_code(reading.code):
        return redirect("bench:in-hand", reading.code)
    if finding is None and reading.kind is not None:
        found = tags.find(reading.code, reading.kind)
        finding = found.finding
        if found.page:
            return redirect(*found.page)
        if found.body_tag:
            if reading.kind is Kind.BODY:
                _scanned(request, found.body_tag)
            return _to_instrument(found)
    shown = {"finding": finding, "seen": request.session.get("seen_tags", []), "text": text}
    return render(request, "bench/scan.html", shown)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def station(request: BadgeRequest) -> HttpResponse:
    """Where this phone is: one tap, and on to the instrument it was asked from."""
    known = book.stations()
    if request.method == "POST" and request.POST.get("station") in dict(known):
        request.session["station"] = request.POST["station"]
        body = request.POST.get("body", "")
        if board.number_of(body) is not None:
            return redirect("bench:instrument", body)
        return redirect("bench:scan")
    return render(request, "bench/station.html", {"stations": known})


@never_cache
@require_safe
@needs("tag.scan")
def at(request: BadgeRequest, station: str) -> HttpResponse:
    """The card of a station was scanned: one tap says that this phone is there."""
    known = book.stations()
    here = next((one for one in known if one[0].upper() == station.upper()), None)
    if here is not None:
        return render(request, "bench/station.html", {"here": here})
    finding = stop(
        "station unknown",
        f"There is no station {station[:LONGEST_STATION]} here.",
        "Tap where this phone is. The lead prints a new card.",
        call="",
    )
    shown = {"stations": known, "finding": finding}
    return render(request, "bench/station.html", shown, status=404)


def ground(code: str) -> State:
    """The instrument of a live body tag, or the plain page that says why there is none."""
    now = board.by_tag(code)
    if now is None:
        raise Http404
    return now


def number_of(code: str) -> int:
    """The number of the instrument of a live body tag, or the page that says there is none."""
    number = board.number_of(code)
    if number is None:
        raise Http404
    return number


@never_cache
@require_safe
@needs("tag.scan")
def instrument(request: BadgeRequest, code: str) -> HttpResponse:
    """The instrument this tag hangs on, as it stands at the phone's station."""
    now = board.by_tag(code)
    if now is None:
        return _elsewhere(request, code)
    _remember(request, code, now)
    paper = board.on_paper(request.GET.get("paper", ""), now, timezone.localtime())
    if paper:
        _by_paper(request, code, paper)
    elif not request.headers.get("Referer", "").startswith(request.build_absolute_uri("/")):
        _scanned(request, code)  # by no link of ours: by the phone's own camera
    shown = page(request, code, now)
    shown["kit"] = drawings.kit(now, request.user.units)
    shown["outcome"] = after(request, shown)
    shown["paper"] = paper
    shown["may_print"] = may(request.user, "paper.print")
    station = request.session.get("station", "")
    shown["onward"] = onward(now, code, station, partial(may, request.user))
    return render(request, "bench/instrument.html", shown)


def _elsewhere(request: HttpRequest, code: str) -> HttpResponse:
    """A code that is no live body tag: lead on to the one that is, or say what it is."""
    reading = reading_of(request, code)
    finding = reading.finding
    if finding is None and reading.kind is Kind.CARD:
        return redirect("bench:scan")
    if finding is None and reading.kind is Kind.GAUGE and board.tool_of_code(reading.code):
        return redirect("bench:in-hand", reading.code)
    if finding is None and reading.kind is not None:
        found = tags.find(reading.code, reading.kind)
        if found.page:
            return redirect(*found.page)
        if found.body_tag:
            return _to_instrument(found)
        finding = found.finding
    return render(request, "bench/scan.html", {"finding": finding, "text": code}, status=404)


def _to_instrument(found: tags.Found) -> HttpResponse:
    """On to the instrument; a scanned paper goes along, so that the page can say whether what
    it says still stands."""
    way = reverse("bench:instrument", args=[found.body_tag])
    return redirect(f"{way}?{urlencode({'paper': found.paper})}" if found.paper else way)


def _by_paper(request: HttpRequest, code: str, paper: OnPaper) -> None:
    """A printed sheet led to this instrument: until its tag is scanned, nothing says that its
    body is at hand."""
    kept: dict[str, str] = request.session.get("by_paper", {})
    rest = [one for one in kept.items() if one[0] != code]
    request.session["by_paper"] = dict([*rest, (code, paper.name)][-LAST_TAGS:])


def _scanned(request: HttpRequest, code: str) -> None:
    """The tag of this body was scanned."""
    kept: dict[str, str] = request.session.get("by_paper", {})
    if code in kept:
        request.session["by_paper"] = {one: name for one, name in kept.items() if one != code}


def body_unseen(request: HttpRequest, code: str, now: State) -> Finding | None:
    """What keeps a tray or a neck from being matched with a body whose tag was not scanned."""
    name = request.session.get("by_paper", {}).get(code)
    if name is None:
        return None
    words = f"This is the {name} of {now.serial}."
    return stop("print scan", words, "Scan the tag on the body.", call="")


def _scan_again(request: HttpRequest, finding: Finding) -> HttpResponse:
    """The scan screen again, with what is to be said of the last one."""
    shown = {"finding": finding, "seen": request.session.get("seen_tags", [])}
    return render(request, "bench/scan.html", shown)


def _remember(request: HttpRequest, code: str, now: State) -> None:
    seen = request.session.get("seen_tags", [])
    if seen[:1] != [[code, now.serial]]:
        rest = [one for one in seen if one[0] != code]
        request.session["seen_tags"] = [[code, now.serial], *rest][:LAST_TAGS]


def page(request: BadgeRequest, code: str, now: State) -> dict[str, Any]:
    """What the instrument page and its partials show."""
    at = timezone.localtime()
    neck = _neck_asked(request)
    asking = board.asking(request, at)
    work = board.work(board.loop_untold(now, asking), asking, neck)
    unseen = body_unseen(request, code, now)
    records = may(request.user, "step.record") or may(request.user, "step.learn")
    return {
        "code": code,
        "here": reverse("bench:instrument", args=[code]),
        "now": now,
        "spec": now.sheet.spec,
        "work": work,
        "offers": offered(now, work, asking, records=records, unseen=unseen),
        "measured_wrong": board.measured_wrong(now, work),
        "neck": neck,
        "at": at,
        "beside": asking.beside.code if asking.beside else "",
        "learns": asking.who.learns,
        "key": uuid.uuid4(),
        "start_key": uuid.uuid4(),  # begun and recorded from one page: two acts
        "reasons": why_on(now, work),
        "may_record": records,
        "may_check": may(request.user, "tray.check"),
        "may_hand": may(request.user, "step.hand"),
        "may_tell": may(request.user, "event.report"),
        "progress": drawings.progress(now, work),
    }


def _with_key(shown: dict[str, Any]) -> dict[str, Any]:
    """The scanner's form carries the key of the act it will be."""
    return shown | {"key_field": {"key": shown["key"]}}


@dataclass(frozen=True, slots=True)
class Answer:
    """What is said of an act on the page after it. ``operation`` is what was tried."""

    refused: bool
    findings: tuple[Finding, ...]
    words: str
    operation: str

    @property
    def out_of_order(self) -> bool:
        """Whether what comes before it may have been done and not recorded."""
        return self.refused and any(one.rule == "order" for one in self.findings)


# What is said of a deed that was done, by its kind; of any other that it is recorded.
DONE_WORDS = {
    "start": "{operation} is begun. Record it once it is done.",
    "join": "You help with {operation}.",
    "taken": "You have {operation} in hand now.",
    "left": "{operation} is open no more: nothing was done.",
    "cut seen": "How the cut stands is noted.",
    "neck seen": "{first}",
}


def answer(
    result: str,
    findings: tuple[Finding, ...],
    kind: str,
    data: Mapping[str, Any],
    shown: Mapping[str, Any],
) -> Answer:
    """What became of an act, in words, on a page that shows the instrument after it."""
    now: State = shown["now"]
    operation = str(data.get("operation") or (now.open.operation if now.open else ""))
    if result == "already":
        words = "This was recorded before; nothing changed."
    elif kind == "handed":
        to = data.get("to")
        words = f"{to} has {operation} in hand now." if to else f"{operation} is parked."
    elif kind in DONE_WORDS:
        first = findings[0].words if findings else ""
        words = DONE_WORDS[kind].format(operation=operation, first=first)
    else:
        late = "Recorded late" if data.get("done_at") else "Recorded"
        doubt = f" {operation} is to be confirmed: {data['doubt']}." if data.get("doubt") else ""
        words = f"{late}.{doubt} {shown['progress'].summary}"
    return Answer(result == "refused", findings, words, operation)


def after(request: HttpRequest, shown: Mapping[str, Any]) -> Answer | None:
    """The answer to the act this page is shown after, where the phone has no script."""
    try:
        kept = board.answered(uuid.UUID(request.GET.get("after", "")))
    except ValueError:
        return None  # no act, or not one of ours: the page stands without it
    if kept is None:
        return None
    findings = tuple(Finding.of_row(one) for one in kept["findings"])
    return answer(kept["result"], findings, kept["kind"], kept["data"], shown)


def answered(
    request: BadgeRequest,
    code: str,
    act: Act,
    deed: StepDone | StepStarted | StepJoined | StepTaken,
) -> HttpResponse:
    """Do a deed; its answer is the instrument's page, or with script the part that changed."""
    outcome = record(act, deed)
    if not request.htmx:
        return redirect(f"/{code}?after={act.key}")
    shown = page(request, code, outcome.after or ground(code))
    said = answer(outcome.result, outcome.findings, deed.kind, deed.plain(), shown)
    return render(request, "bench/_work.html", shown | {"outcome": said})


def alone(request: BadgeRequest) -> tuple[Finding, ...]:
    """What keeps somebody who learns from entering anything: nobody signs beside them."""
    asking = board.asking(request, timezone.localtime())
    if not asking.who.learns or asking.signer:
        return ()
    words = f"{asking.who.code} is learning: nobody signs beside you now."
    return (stop("beside", words, "Have a trainer sign beside you.", call=""),)


def _neck_asked(request: HttpRequest) -> str:
    text = request.POST.get("neck") or request.GET.get("neck") or ""
    return reading_of(request, text).code if text else ""


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tray.check")
def tray(request: BadgeRequest, code: str) -> HttpResponse:
    """Scan the tray beside the body: whose is it, and does it fit?"""
    now = ground(code)
    if unseen := body_unseen(request, code, now):
        return _scan_again(request, unseen)
    text = request.POST.get("code") or request.GET.get("code") or ""
    if not text or "key" not in request.POST:  # a code out of a photo is sent on by a tap
        return render(
            request, "bench/tray.html", _with_key(page(request, code, now)) | {"asked": text}
        )
    reading = reading_of(request, text)
    if reading.finding is not None:
        return stopped(request, code, now, (reading.finding,), "bench:tray")
    act = Act.of(request, timezone.localtime())
    outcome = record(act, TrayChecked(now.id, reading.code))
    return _after_scan(request, code, outcome, "bench:tray")


@never_cache
@require_http_methods(["GET", "POST"])
@needs("step.record", "step.learn")
def neck(request: BadgeRequest, code: str) -> HttpResponse:
    """Scan the neck that is to be paired with this body, or that is said to be its own."""
    now = ground(code)
    if unseen := body_unseen(request, code, now):
        return _scan_again(request, unseen)
    text = request.POST.get("code") or request.GET.get("code") or ""
    shown = _with_key(page(request, code, now))
    pairing = now.sheet.pairing
    shown["paired"] = paired = pairing is not None and pairing.code in now.done_codes
    if not text or (paired and "key" not in request.POST):
        return render(request, "bench/neck.html", shown | {"asked": text})
    reading = reading_of(request, text)
    if reading.finding:
        return stopped(request, code, now, (reading.finding,), "bench:neck")
    if paired:
        return _neck_seen(request, code, now, reading.code)
    findings = board.neck_fits(now, reading.code)
    if not findings:
        return redirect(f"{shown['here']}?neck={reading.code}")
    if "key" in request.POST and reading.code and pairing:
        # The wrong attempt itself goes into the journal; the gates refuse it there again.
        attempt = StepDone(now.id, pairing.code, reading.code)
        record(Act.of(request, timezone.localtime()), attempt)
    frozen = _frozen(code, reading.code)
    return stopped(request, code, now, findings, "bench:neck", frozen=frozen)


def _neck_seen(request: BadgeRequest, code: str, now: State, neck_code: str) -> HttpResponse:
    """A neck lies beside a body that has its pair: its own, or a swap that stops both."""
    act = Act.of(request, timezone.localtime())
    outcome = record(act, NeckSeen(now.id, neck_code))
    if outcome.done:
        return redirect(f"/{code}?after={act.key}")
    frozen = _frozen(code, neck_code)
    return stopped(request, code, now, outcome.findings, "bench:neck", frozen=frozen)


def _frozen(code: str, neck_code: str) -> list[str]:
    """Of this body and the guitar of a neck, those that wait for the lead now."""
    owner = tags.find(neck_code, Kind.NECK).body_tag
    both = [board.by_tag(one) for one in dict.fromkeys((code, owner)) if one]
    return [one.serial for one in both if one and one.frozen]


@require_POST
@needs("step.record", "step.learn")
def record_step(request: BadgeRequest, code: str) -> HttpResponse:
    """Record the operation. The answer is the same page, one step further."""
    number = number_of(code)
    act = Act.of(request, timezone.localtime())
    deed = StepDone(number, request.POST.get("operation", ""), _neck_asked(request))
    return answered(request, code, act, deed)


@require_POST
@needs("help.call")
def call(request: BadgeRequest, code: str) -> HttpResponse:
    """Call the clerk or the lead to this bench."""
    now = ground(code)
    whom, words = request.POST.get("whom", ""), request.POST.get("words", "")
    outcome = record(Act.of(request, timezone.localtime()), CallMade(now.id, whom, words))
    shown = {"code": code, "now": now, "whom": whom, "outcome": outcome}
    return render(request, "bench/called.html", shown)


@never_cache
@require_safe
@needs("tag.scan")
def route(request: BadgeRequest, code: str) -> HttpResponse:
    """The fingerboard spelled out: every operation, who did it and when."""
    now = ground(code)
    asking = board.asking(request, timezone.localtime())
    done = {one.operation: one for one in now.done}
    rows = [(stop, done.get(stop.code)) for stop in now.sheet.stops]
    shown = {
        "code": code,
        "now": now,
        "rows": rows,
        "photos": board.photos_with_fresh_eyes(board.photos(now.id), now, asking),
    }
    return render(request, "bench/route.html", shown)


def _after_scan(request: BadgeRequest, code: str, outcome: Outcome, back: str) -> HttpResponse:
    now = ground(code)
    if any_stop(outcome.findings):
        return stopped(request, code, now, outcome.findings, back)
    shown = page(request, code, now) | {"checked": outcome}
    return render(request, "bench/checked.html", shown)


def stopped(
    request: BadgeRequest,
    code: str,
    now: State,
    findings: tuple[Finding, ...],
    back: str,
    again: str = "Scan again",
    frozen: Sequence[str] = (),
) -> HttpResponse:
    """A stop fills the screen: what is so, what to do, whom to call, and the way back.
    ``frozen`` are the serials that wait for the lead from now on."""
    first = findings[0]
    shown = {
        "code": code,
        "now": now,
        "first": first,
        "rest": findings[1:],
        "frozen": frozen,
        "key": uuid.uuid4(),
        "back": back,
        "again": again,
        "words": f"{first.words} {first.then}"[:300],
    }
    return render(request, "bench/stop.html", shown)
