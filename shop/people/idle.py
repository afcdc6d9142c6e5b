"""A phone left on a bench belongs to nobody: after some idle time nobody is signed in.

The session itself stays, so the page on screen, what was typed into it and its form
tokens all hold: the same badge's PIN picks up exactly there. Only a second badge that stood
beside it has left, and signs beside it anew.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from django.conf import settings
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from shop.people.badges import leave_beside
from shop.people.fresh import asked_by_itself

SEEN: Final = "seen"
# The moment is renewed in the cookie at most this often.
RENEW_S: Final = 15


class IdleLock:
    """Treats a request as nobody's when the last one of its session is too long ago. What a
    page asks by itself is answered to whoever is there, and is no sign of anybody."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if SESSION_KEY in request.session:
            now = int(timezone.now().timestamp())
            seen = int(request.session.get(SEEN, 0))
            if now - seen > settings.IDLE_SECONDS:
                request.user = AnonymousUser()
                leave_beside(request.session)
            elif now - seen > RENEW_S and not asked_by_itself(request):
                request.session[SEEN] = now
        return self.get_response(request)


def wake(request: HttpRequest) -> None:
    """Start counting idle time afresh."""
    request.session[SEEN] = int(timezone.now().timestamp())


def lock(request: HttpRequest) -> None:
    """Let the session fall idle now."""
    request.session[SEEN] = 0
