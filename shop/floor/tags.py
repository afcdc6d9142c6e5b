"""Whose code is this? Every code of the shop, found or told plainly why not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import F, Q
from django.utils.timezone import localtime

from shop.craft.code import Kind, pretty
from shop.craft.finding import Finding, stop
from shop.floor import gauges, rack
from shop.floor.deeds.tags import void_words
from shop.floor.models import Body, Instrument, Print, Tag
from shop.stock import shelf


@dataclass(frozen=True, slots=True)
class Found:
    """What a code stands for: an instrument's live body tag, or a finding that says why not.
    ``paper`` is the code again where it stands on a printed sheet. ``page`` names the address,
    with what it is of, of what has a page of its own and is no instrument; where an instrument
    is wanted the finding says what it is."""

    code: str
    body_tag: str = ""
    finding: Finding | None = None
    paper: str = ""
    page: tuple[str, str] | None = None


def find(code: str, kind: Kind) -> Found:
    """The live body tag of the instrument that this tag or tray belongs to."""
    if kind is Kind.TRAY:
        return _of_tray(code)
    if kind is Kind.PAPER:
        return _of_paper(code)
    if kind is Kind.GAUGE:
        return Found(code, finding=_of_gauge(code))
    if kind is Kind.SLOT:
        return _of_slot(code)
    if kind is Kind.CARD:
        return Found(
            code,
            finding=stop(
                "tag card",
                f"{pretty(code)} is a badge card, not a tag.",
                "Scan the tag on the body. To sign in, open the sign-in page.",
                call="",
            ),
        )
    return _of_part(code)


def _of_part(code: str) -> Found:
    columns = (
        "void_at", "void_why", "body_id", "neck_id", "body__serial", "neck__serial",
        "body__scrapped_at", "neck__scrapped_at",
    )  # fmt: skip
    tag = Tag.objects.filter(code=code).values_list(*columns).first()
    if tag is None:
        return Found(code, finding=unknown(code))
    void_at, why, of_body, neck_id, body, neck, body_gone, neck_gone = tag
    body_id: int | None = of_body
    serial: str = body or neck
    if gone := body_gone or neck_gone:
        words = f"{pretty(code)} hung on {serial}, which was scrapped {localtime(gone):%Y-%m-%d}."
        then = "Nothing more is done on it. Read the mark on the part, and call the lead."
        return Found(code, finding=stop("tag void", words, then))
    if body_id is None:
        body_id = _body_of(neck_id, paired=why == "paired")
    # A neck's tag retires when the pair is made, and leads to its instrument all the same.
    if void_at is not None and not (why == "paired" and body_id):
        return Found(code, finding=_void(code, serial, void_at, why))
    live = (
        Tag.objects.filter(body__instrument__body_id=body_id, void_at__isnull=True)
        .values_list("code", flat=True)
        .first()
        if body_id
        else None
    )
    if live is None:
        words = f"{serial} waits in store: no instrument is released with it yet."
        return Found(code, finding=stop("tag waiting", words, "Ask the lead to release it."))
    return Found(code, body_tag=live)


def _body_of(neck_id: int, *, paired: bool) -> int | None:
    """The body that this neck waits for; with ``paired``, the one it is one pair with."""
    whose = Instrument.objects.filter(neck_id=neck_id)
    if paired:
        whose = whose.filter(pairs__neck_id=neck_id, pairs__ended_at__isnull=True)
    return whose.values_list("body_id", flat=True).first()


def _void(code: str, serial: str, since: datetime, why: str) -> Finding:
    return stop(
        "tag void",
        f"{pretty(code)} hung on {serial} and is void since {localtime(since):%Y-%m-%d}: "
        f"{void_words(why)}.",
        "Read the mark on the neck block and scan the tag in use. Cut this one up.",
    )


def _of_tray(code: str) -> Found:
    tray = shelf.tray(code)
    if tray is None:
        return Found(code, finding=unknown(code))
    live = (
        Tag.objects.filter(body__serial=tray["serial"], void_at__isnull=True)
        .values_list("code", flat=True)
        .first()
    )
    if live is None:
        return Found(code, finding=unknown(code))
    return Found(code, body_tag=live)


def _of_paper(code: str) -> Found:
    """The live body tag of the instrument it was printed of, whatever tag that had then."""
    columns = ("words", "of", "instrument__body_id", "instrument__body__scrapped_at")
    row = Print.objects.filter(code=code).values_list(*columns).first()
    if row is None:
        words = f"{pretty(code)} is a whole code, but nothing printed here carries it."
        then = "Tear it up. Scan the tag on the body."
        return Found(code, finding=stop("tag unknown", words, then, call=""))
    name, serial, body_id, scrapped_at = row
    if scrapped_at is not None:
        day = f"{localtime(scrapped_at):%Y-%m-%d}"
        words = f"This is the {name.lower()} of {serial}, which was scrapped {day}."
        then = "Nothing more is done on it. Tear this up, and call the lead if the guitar is here."
        return Found(code, finding=stop("tag void", words, then))
    live = Tag.objects.filter(body_id=body_id, void_at__isnull=True)
    return Found(code, live.values_list("code", flat=True)[0], paper=code)


def _of_gauge(code: str) -> Finding:
    tool = gauges.tool_of_code(code)
    if tool is None:
        words = f"{pretty(code)} is a whole code, but no gauge here carries it."
        return stop("tag unknown", words, "Take another gauge and tell the lead.")
    words = f"This is gauge {tool.called}, not a guitar."
    then = "Scan the tag on the body. A gauge is taken in hand on the scan page."
    return stop("tag gauge", words, then, call="")


def _of_slot(code: str) -> Found:
    place = rack.place_of_tag(code)
    if place is None:
        words = f"{pretty(code)} is a whole code, but no slot of the hold rack carries it."
        told = stop("tag unknown", words, "Tear it off and tell the lead.")
        return Found(code, finding=told)
    words = f"This is slot {place.code} of the hold rack, and it is free."
    if place.retired:
        words = f"This is slot {place.code} of the hold rack, which is retired."
    elif place.serial:
        words = f"This is slot {place.code} of the hold rack: the case of {place.serial} lies here."
    then = "Scan the tag of the guitar, or the card on its case."
    told = stop("tag slot", words, then, call="")
    return Found(code, finding=told, page=("inspection:slot", place.code))


def unknown(code: str) -> Finding:
    return stop(
        "tag unknown",
        f"{pretty(code)} is a whole code, but no tag here carries it.",
        "Read the serial on the neck block and call the lead.",
    )


def of_serial(serial: str) -> str | None:
    """The code of the live tag on the body of this serial, or on the neck of it."""
    part = Q(body__serial=serial) | Q(neck__serial=serial)
    live = Tag.objects.filter(part, void_at__isnull=True)
    body_first = F("body_id").asc(nulls_last=True)
    return live.order_by(body_first).values_list("code", flat=True).first()


def body_of(serial: str) -> str | None:
    """The serial of the instrument that this body or neck belongs to."""
    its = Instrument.objects.filter(Q(body__serial=serial) | Q(neck__serial=serial))
    return its.values_list("body__serial", flat=True).first()


def made(serial: str) -> int:
    """How many tags the body or neck of this serial has had, the one in use among them."""
    return Tag.objects.filter(Q(body__serial=serial) | Q(neck__serial=serial)).count()


def marks() -> list[str]:
    """The marks that can be read on a part: bodies, then loose necks, none of them scrap."""
    bodies = Body.objects.filter(scrapped_at__isnull=True)
    loose = Tag.objects.filter(neck__isnull=False, void_at__isnull=True)
    return [
        *bodies.values_list("serial", flat=True),
        *loose.order_by("neck__serial").values_list("neck__serial", flat=True),
    ]
