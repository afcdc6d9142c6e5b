"""Whose code is this? Every code of the shop, found or told plainly why not."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.timezone import localtime

from shop.craft.code import Kind, pretty
from shop.craft.finding import Finding, stop
from shop.floor.models import Instrument, Tag
from shop.stock import shelf


@dataclass(frozen=True, slots=True)
class Found:
    """What a code stands for: an instrument's live body tag, or a finding that says why not."""

    code: str
    body_tag: str = ""
    finding: Finding | None = None


def find(code: str, kind: Kind) -> Found:
    """The live body tag of the instrument that this tag or tray belongs to."""
    if kind is Kind.TRAY:
        return _of_tray(code)
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
    tag = (
        Tag.objects.filter(code=code)
        .values_list("void_at", "body_id", "neck_id", "body__serial", "neck__serial")
        .first()
    )
    if tag is None:
        return Found(code, finding=unknown(code))
    void_at, of_body, neck_id, body, neck = tag
    body_id: int | None = of_body
    if void_at is not None:
        return Found(
            code,
            finding=stop(
                "tag void",
                f"{pretty(code)} hung on {body or neck} and is void "
                f"since {localtime(void_at):%Y-%m-%d}.",
                "Read the mark on the neck block and scan the tag in use. Cut this one up.",
            ),
        )
    if body_id is None:
        body_id = (
            Instrument.objects.filter(neck_id=neck_id).values_list("body_id", flat=True).first()
        )
    live = (
        Tag.objects.filter(body__instrument__body_id=body_id, void_at__isnull=True)
        .values_list("code", flat=True)
        .first()
        if body_id
        else None
    )
    if live is None:
        words = f"{body or neck} waits in store: no instrument is released with it yet."
        return Found(code, finding=stop("tag waiting", words, "Ask the lead to release it."))
    return Found(code, body_tag=live)


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


def unknown(code: str) -> Finding:
    return stop(
        "tag unknown",
        f"{pretty(code)} is a whole code, but no tag here carries it.",
        "Read the serial on the neck block and call the lead.",
    )


def of_serial(serial: str) -> str | None:
    """The code of the live body tag of this serial."""
    return (
        Tag.objects.filter(body__serial=serial, void_at__isnull=True)
        .values_list("code", flat=True)
        .first()
    )
