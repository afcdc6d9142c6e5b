"""In which language the shop speaks to whoever looks.

A badge has its language; a phone at which nobody is signed in keeps the last one it spoke, and
a new phone is asked what it prefers.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Callable
from functools import cache
from typing import Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.template.response import SimpleTemplateResponse
from django.utils import translation

from shop.craft.phrasebook import Phrasebook

COOKIE: Final = settings.LANGUAGE_COOKIE_NAME
COOKIE_AGE_S: Final = 400 * 24 * 3600  # what browsers keep at most
# What the record, and so every sentence of the trade, is written in.
OF_THE_RECORD: Final = "en"
FORMATTED: Final = re.compile(r"%\((\w+)\)(?:\.\d+)?[sdg]")


def say(words: str) -> str:
    """English words, as the record has them, in the language in force."""
    language = translation.get_language() or OF_THE_RECORD
    return words if language == OF_THE_RECORD else phrases(language).say(words)


@cache
def phrases(language: str) -> Phrasebook:
    """The phrase book of a language: all that our own messages hold, if there are any. Django's
    have words too that would be taken for a station's name."""
    found = gettext.translation("django", settings.LOCALE_PATHS[0], [language], fallback=True)
    kept: dict[object, str] = getattr(found, "_catalog", {})
    own = ((one, other) for one, other in kept.items() if isinstance(one, str) and one and other)
    return Phrasebook({_placed(one): _placed(other) for one, other in own})


def _placed(words: str) -> str:
    """A message with its places as the phrase book has them. gettext fills its own where somebody
    looks; but a whole sentence may have been filled in English, by a worker, and kept."""
    return FORMATTED.sub(r"{\1}", words).replace("%%", "%") if words.endswith(".") else words


class Speaking:
    """Answers each request in the language of whoever asks."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        language = language_of(request)
        with translation.override(language):
            response = self.get_response(request)
            # What is rendered late still speaks it.
            if isinstance(response, SimpleTemplateResponse):
                response.render()
        response.setdefault("Content-Language", language)
        if request.COOKIES.get(COOKIE) != language and getattr(request.user, "pk", None):
            response.set_cookie(COOKIE, language, max_age=COOKIE_AGE_S, samesite="Lax")
        return response


def language_of(request: HttpRequest) -> str:
    """The badge's language, else the one this phone last spoke, else what the phone asks for."""
    known = dict(settings.LANGUAGES)
    own = getattr(request.user, "language", "") or request.COOKIES.get(COOKIE, "")
    return own if own in known else translation.get_language_from_request(request)
