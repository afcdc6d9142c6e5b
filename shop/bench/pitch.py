"""The pitch of a string, by the phone's microphone or typed: how far it is off its note."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from shop.craft.gauging import NotANumber, bare_number
from shop.craft.set_up import scale

# Whose units, thumb and language the page has does not matter: it is kept for any phone's holder.
NOBODYS: Final = ("badge_code", "thumb", "text_size", "units", "station_words", "csrf_token")
FRETS: Final = (0, scale.STEPS)
# Beyond what any string of a guitar can be slackened or wound up to.
LEAST_HZ: Final = 40
MOST_HZ: Final = 1400
CANNOT_BE: Final = f"No string sounds there: {LEAST_HZ} to {MOST_HZ} Hz can be."


@dataclass(frozen=True, slots=True)
class HeardString:
    """A string to listen to: its name at the bench, its note, and that note's frequency."""

    key: str
    note: str
    hz: float

    @property
    def hz_plain(self) -> str:
        """The frequency with the decimal point that a script reads."""
        return f"{self.hz:.4f}"


def heard(keys: Iterable[str] = scale.OPEN) -> tuple[HeardString, ...]:
    """The strings of a guitar to choose from, by name: what ``bench/_pitch.html`` shows.

    >>> heard(["6"])[0].note
    'E2'
    """
    return tuple(HeardString(key, scale.open_note(key), scale.open_hz(key)) for key in keys)


@require_safe
def pitch(request: HttpRequest) -> HttpResponse:
    """The page that listens: the same for whoever holds the phone, and there without the
    network; and what a typed pitch comes to, where no script reckons it."""
    shown: dict[str, Any] = dict.fromkeys(NOBODYS, "")
    shown |= {"nobody": True, "idle_seconds": settings.IDLE_SECONDS}
    shown |= {"places": {"pad": reverse("people:pad")}, "pitch": heard(), "says": _says()}
    shown |= {"least_hz": LEAST_HZ, "most_hz": MOST_HZ, "cannot_be": CANNOT_BE}
    asked = "hz" in request.GET
    if asked:
        shown |= _answer(request)
    response = render(request, "bench/pitch.html", shown)
    # Asked again before every use (RFC 9111, 5.2.2.4), and never kept for another phone.
    response["Cache-Control"] = "no-cache,private"
    if not asked:
        response["X-Offline"] = "shared"
    return response


def _says() -> dict[str, str]:
    return {
        "above": _("{hz} Hz is {cents} cents above {note}, which is {wanted} Hz."),
        "below": _("{hz} Hz is {cents} cents below {note}, which is {wanted} Hz."),
        "on": _("{hz} Hz is {note}: {wanted} Hz."),
    }


def _answer(request: HttpRequest) -> dict[str, Any]:
    keys = list(scale.OPEN)
    string = request.GET.get("string", "")
    string = string if string in keys else keys[0]
    fret = FRETS[-1] if request.GET.get("fret") == str(FRETS[-1]) else FRETS[0]
    typed = request.GET["hz"].replace("\0", "").strip()[:12]
    told = {"string": string, "fret": fret, "typed": typed}
    try:
        hz = float(bare_number(typed, "Hz"))
    except NotANumber as why:
        return told | {"problem": str(why)}
    if not LEAST_HZ <= hz <= MOST_HZ:
        return told | {"problem": CANNOT_BE}
    wanted = scale.at_cents(scale.open_hz(string), 100 * fret)
    off = round(scale.cents(hz, wanted), 1)
    says = _says()["above" if off > 0 else "below" if off < 0 else "on"]
    note = scale.open_note(string)
    note = f"{note[:-1]}{int(note[-1]) + fret // scale.STEPS}"
    return told | {
        "answer": says.format(
            hz=f"{hz:g}", cents=f"{abs(off):g}", note=note, wanted=f"{wanted:.2f}"
        )
    }
