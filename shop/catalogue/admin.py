"""The catalogue in the office pages. Whatever changes here redraws what was drawn from it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import admin, messages
from django.db.models import QuerySet
from django.http import HttpRequest

from shop.catalogue import models, revising

admin.site.site_header = "Heelcap office"
admin.site.site_title = "Heelcap office"
admin.site.index_title = "What should be: specs, hardware, kits, work and people"
admin.site.site_url = "/floor/"


class Kept(admin.ModelAdmin):  # type: ignore[type-arg]
    """Rows that stand on records are switched off or superseded, never deleted."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(models.Station)
class StationAdmin(Kept):
    list_display = ("code", "name", "place", "caution")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.station_changed(obj.pk)


@admin.register(models.Operation)
class OperationAdmin(Kept):
    list_display = ("code", "name", "station", "touch_min", "needs", "irreversible")
    list_filter = ("station", "irreversible")
    search_fields = ("code", "name")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.operation_changed(obj.pk)


class StopInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.RouteStop
    extra = 0


class PrecedenceInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.Precedence
    extra = 0


@admin.register(models.Route)
class RouteAdmin(Kept):
    inlines: ClassVar = [StopInline, PrecedenceInline]

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revising.route_changed(form.instance.pk)
        for fault in revising.route_faults(form.instance):
            self.message_user(request, fault, messages.WARNING)


class PartAdmin(Kept):
    list_display = ("key", "name", "metal", "obsolete")
    list_filter = ("obsolete",)
    search_fields = ("key", "name")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.item_changed(obj.pk)


for part in models.PARTS:
    admin.site.register(part, PartAdmin)


@admin.register(models.Spec)
class SpecAdmin(Kept):
    list_display = ("key",)
    search_fields = ("key",)


class DraftOnly:
    """Shown always, changed only while the revision is a draft."""

    def _draft(self, obj: Any) -> bool:
        return obj is None or getattr(obj, "revision", obj).state == "draft"

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_change_permission(request, obj) and self._draft(obj)  # type: ignore[misc]


@admin.register(models.SpecRevision)
class RevisionAdmin(DraftOnly, Kept):
    list_display = ("__str__", "state", "hand", "strings", "tuner_family", "route")
    list_filter = ("state", "spec")
    actions = ("open_for_releases", "copy_as_draft")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.revision_changed(obj.pk)

    @admin.action(description="Open for releases (closes the one open now)")
    def open_for_releases(
        self, request: HttpRequest, queryset: QuerySet[models.SpecRevision]
    ) -> None:
        for revision in queryset.select_related("spec", "route"):
            self._try(request, revising.open_revision, revision, "is open for releases.")

    @admin.action(description="Copy as a draft to change")
    def copy_as_draft(self, request: HttpRequest, queryset: QuerySet[models.SpecRevision]) -> None:
        for revision in queryset.select_related("spec", "route"):
            self._try(request, revising.next_draft, revision, "is copied as a draft.")

    def _try(self, request: HttpRequest, deed: Any, revision: Any, words: str) -> None:
        try:
            deed(revision)
        except revising.NotReady as why:
            self.message_user(request, str(why), messages.ERROR)
        else:
            self.message_user(request, f"{revision} {words}", messages.SUCCESS)


class LineInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.KitLine
    extra = 0
    autocomplete_fields = ("item", "substitutes")

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_change_permission(request, obj) and _is_draft(obj)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_add_permission(request, obj) and _is_draft(obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_delete_permission(request, obj) and _is_draft(obj)


def _is_draft(kit: Any) -> bool:
    return kit is None or kit.revision.state == "draft"


@admin.register(models.HardwareKit)
class KitAdmin(DraftOnly, Kept):
    list_display = ("__str__",)
    inlines: ClassVar = [LineInline]

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revising.revision_changed(form.instance.revision_id)


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
