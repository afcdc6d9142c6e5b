"""What will keep phones out, found when the shop starts."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage
from django.core.checks import Warning as Warned

from shop.phone.lan.keeping import Folder
from shop.phone.lan.readying import WARN_BEFORE, days_left


def authority_lasts(**_: Any) -> list[CheckMessage]:
    """Whether the authority that phones trust lasts another year."""
    try:
        authority = Folder(settings.LAN_DIR).authority()
    except (OSError, ValueError):
        return [
            Warned(
                f"The authority in {settings.LAN_DIR} cannot be read.",
                hint="Put it back from your backup before the certificate has to be renewed.",
                id="phone.W001",
            )
        ]
    now = datetime.now(UTC)
    if authority is None or now < authority.until - WARN_BEFORE:
        return []
    return [
        Warned(
            f"{max(0, days_left(authority.until, now))} days are left of the authority "
            f"“{authority.name}”: phones trust it until {authority.until:%Y-%m-%d}.",
            hint=f"On a quiet day move {settings.LAN_DIR} away and start again: a new one is made, "
            "and every phone is set up with it once. Send first what phones hold.",
            id="phone.W002",
        )
    ]
