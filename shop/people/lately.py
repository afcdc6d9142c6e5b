"""The badges that signed in at a phone last, so that the next one is a tap away.

The phone keeps them itself, in a cookie of codes and nothing else, which its own script reads
too where there is no network.
"""

from __future__ import annotations

import re
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse

COOKIE: Final = "badges"
COOKIE_AGE_S: Final = 400 * 24 * 3600  # what browsers keep at most
MOST: Final = 6
CODE: Final = re.compile(r"[A-Z]+-[0-9]+")
LONGEST: Final = 8  # letters of a code


def lately(request: HttpRequest) -> list[str]:
    """The codes of the badges that signed in here last, the newest first."""
    kept = request.COOKIES.get(COOKIE, "").split(".")[:MOST]
    return [one for one in kept if CODE.fullmatch(one) and len(one) <= LONGEST]


def remember(request: HttpRequest, response: HttpResponse, code: str) -> None:
    """This badge signed in here just now."""
    codes = [code, *(one for one in lately(request) if one != code)][:MOST]
    response.set_cookie(
        COOKIE, ".".join(codes), max_age=COOKIE_AGE_S, samesite="Lax", secure=settings.HTTPS
    )
