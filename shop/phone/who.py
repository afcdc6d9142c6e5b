"""Who this phone speaks for right now: asked before anything that waited is sent."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, JsonResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.when import in_utc

SALT: Final = "badge at a phone"
SESSION: Final = timedelta(seconds=settings.SESSION_COOKIE_AGE)
SLACK: Final = timedelta(minutes=2)  # what two clocks may differ


@never_cache
@require_safe
def who(request: HttpRequest) -> JsonResponse:
    """The badge, with a proof that it was signed in at this phone, a form token, and the
    server's clock. Nobody signed in: the badge is empty."""
    user = request.user
    code = user.code if user.is_authenticated else ""
    at = timezone.now()
    told = {
        "badge": code,
        "proof": proof_of(code, phone_of(request), at) if code else "",
        "token": get_token(request),
        "now": at.isoformat(),
        "station": request.session.get("station", "") if code else "",
    }
    return JsonResponse(told)


def phone_of(request: HttpRequest) -> str:
    """What tells this phone from others: a cookie it was given with its first sign-in."""
    return request.COOKIES.get("phone", "")[:40]


def proof_of(badge: str, phone: str, at: datetime) -> str:
    """Signed: this badge was signed in at this phone at that moment."""
    return signing.dumps([badge, phone, at.isoformat()], salt=SALT)


def proven(badge: str, proof: str, phone: str, at: datetime) -> bool:
    """Whether the proof says that the badge was signed in at this phone when it was tapped:
    not before, and within the time that a session lasts."""
    try:
        of_badge, of_phone, since = signing.loads(proof, salt=SALT)
        waited = in_utc(at) - in_utc(datetime.fromisoformat(since))
    except (signing.BadSignature, ValueError, TypeError):
        return False
    return (of_badge, of_phone) == (badge, phone) and -SLACK <= waited <= SESSION
