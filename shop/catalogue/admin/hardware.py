"""Hardware: each family with its dimensions, and all of them to look up."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.db.models import Q
from django.http import HttpRequest

from shop.catalogue import models, revising
from shop.catalogue.admin.kept import Kept, tell


class PartAdmin(Kept):
    list_display = ("key", "name", "metal", "obsolete")
    list_filter = ("obsolete",)
    search_fields = ("key", "name")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.item_changed(obj.pk)
        named = Q(kit__lines__item=obj.pk) | Q(kit__lines__substitutes=obj.pk)
        used = models.SpecRevision.objects.filter(named, state__in=["draft", "open"])
        tell(request, used.select_related("spec").distinct())


for part in models.PARTS:
    admin.site.register(part, PartAdmin)


@admin.register(models.Item)
class ItemAdmin(Kept):
    """All families together, to look up; each is added and changed under its family."""

    list_display = ("key", "name", "family", "metal", "obsolete")
    list_filter = ("family", "obsolete")
    search_fields = ("key", "name")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False
