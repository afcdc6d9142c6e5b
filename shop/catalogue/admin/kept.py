"""What the office pages of the catalogue share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from django.contrib import admin, messages
from django.http import HttpRequest

from shop.catalogue import models, revising
from shop.craft.finding import Severity


class Kept(admin.ModelAdmin):  # type: ignore[type-arg]
    """Rows that stand on records are switched off or superseded, never deleted."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class DraftOnly:
    """Shown always, changed only while the revision is a draft."""

    def _draft(self, obj: Any) -> bool:
        return obj is None or getattr(obj, "revision", obj).state == "draft"

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_change_permission(request, obj) and self._draft(obj)  # type: ignore[misc]


LEVEL: Final = {
    Severity.STOP: messages.ERROR,
    Severity.WARN: messages.WARNING,
    Severity.NOTE: messages.INFO,
}


def tell(request: HttpRequest, revisions: Iterable[models.SpecRevision]) -> None:
    """Say what stands against the kits of these revisions, where they have one yet."""
    for revision in revisions:
        if models.KitLine.objects.filter(kit__revision=revision).exists():
            for one in revising.kit_findings(revision):
                words = f"{revision}, {one.rule}: {one.words} {one.then}"
                messages.add_message(request, LEVEL[one.severity], words)
