"""Pages that keep themselves fresh: the page asks for itself again and again, and is told in
one word that it says what it would say now.

Such a question is nobody's work. It carries a header of its own, and no phone stays signed in
by it.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.utils.translation import get_language

HEADER: Final = "X-Fresh"


def asked_by_itself(request: HttpRequest) -> bool:
    """Whether the page asks, and no person."""
    return HEADER in request.headers


def fresh(request: Any, mark: str, draw: Callable[[str], HttpResponse]) -> HttpResponse:
    """The page that ``draw`` makes, or 304 where whoever asks has it as it stands.

    ``mark`` is another one whenever the page may say something else; who looks, in which
    language and units, and what they may do is added here. Read it before all that is drawn:
    a page may then be newer than its mark, and never older. ``draw`` is given what the page
    carries as ``data-fresh``.
    """
    who = request.user
    seen = (mark, who.pk, who.units, get_language(), sorted(who.get_all_permissions()))
    tag = quote_etag(sha256(repr(seen).encode()).hexdigest()[:32])
    answer = get_conditional_response(request, etag=tag) or draw(tag)
    answer["ETag"] = tag
    return answer
