"""The catalogue in the office pages. Whatever changes here redraws what was drawn from it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Final

from django import forms
from django.contrib import admin, messages
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from django.http import HttpRequest

from shop.catalogue import models, revising
from shop.craft.finding import Severity

admin.site.site_header = "Heelcap office"
admin.site.site_title = "Heelcap office"
admin.site.index_title = "What should be: specs, hardware, kits, work and people"
admin.site.site_url = "/floor/"


class Kept(admin.ModelAdmin):  # type: ignore[type-arg]
    """Rows that stand on records are switched off or superseded, never deleted."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


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


@admin.register(models.Station)
class StationAdmin(Kept):
    list_display = ("code", "name", "place", "caution")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.station_changed(obj.pk)


class GaugingInline(admin.TabularInline):  # type: ignore[type-arg]
    model = models.Gauging
    extra = 1
    verbose_name_plural = "measured before it is recorded"


@admin.register(models.Operation)
class OperationAdmin(Kept):
    list_display = ("code", "name", "station", "touch_min", "needs", "irreversible")
    list_filter = ("station", "irreversible")
    search_fields = ("code", "name")
    inlines: ClassVar = [GaugingInline]

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revising.operation_changed(form.instance.pk)


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
        named = Q(kit__lines__item=obj.pk) | Q(kit__lines__substitutes=obj.pk)
        used = models.SpecRevision.objects.filter(named, state__in=["draft", "open"])
        tell(request, used.select_related("spec").distinct())


for part in models.PARTS:
    admin.site.register(part, PartAdmin)


@admin.register(models.Wood)
class WoodAdmin(Kept):
    list_display = ("name", "botanical", "permit")
    list_filter = ("permit",)
    search_fields = ("name", "botanical")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        revising.wood_changed(obj.pk)


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
    filter_horizontal = ("woods",)

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revising.revision_changed(form.instance.pk)
        tell(request, [form.instance])

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
    """The lines of a kit; each line's own page has its approved substitutes."""

    model = models.KitLine
    extra = 0
    autocomplete_fields = ("item",)
    show_change_link = True

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
        tell(request, [form.instance.revision])


class SubstituteForm(forms.ModelForm):  # type: ignore[type-arg]
    """An approval is taken where the item really can stand in."""

    def clean(self) -> dict[str, Any] | None:
        given = super().clean()
        item = self.cleaned_data.get("item")
        if item is not None:
            try:
                revising.stand_in(self.instance.line, item)
            except revising.NotReady as why:
                raise ValidationError({"item": str(why)}) from why
        return given


class SubstituteInline(admin.TabularInline):  # type: ignore[type-arg]
    """Approved at any time, by whom, when and why; taken back only while it is a draft."""

    model = models.Substitute
    form = SubstituteForm
    extra = 1
    verbose_name_plural = "approved substitutes"

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_change_permission(request, obj) and self._in_draft(obj)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return super().has_delete_permission(request, obj) and self._in_draft(obj)

    @staticmethod
    def _in_draft(line: Any) -> bool:
        return line is None or _is_draft(line.kit)

    def get_formset(self, request: HttpRequest, obj: Any = None, **kwargs: Any) -> Any:
        """To choose from: the other items of the line's family. Whose badge is filled in."""
        formset: Any = super().get_formset(request, obj, **kwargs)
        fields = formset.form.base_fields
        if obj is not None and "item" in fields:
            others = models.Item.objects.filter(family=obj.item.family, obsolete=False)
            fields["item"].queryset = others.exclude(pk=obj.item_id)
            fields["approved_by"].initial = getattr(request.user, "code", "")
        return formset


@admin.register(models.KitLine)
class LineAdmin(Kept):
    """One line of a kit with its substitutes. The line itself is changed with its kit."""

    list_display = ("item", "quantity", "used_at", "kit")
    list_filter = ("kit__revision__state", "kit__revision__spec")
    search_fields = ("item__key", "kit__revision__spec__key")
    readonly_fields = ("kit", "item", "quantity", "used_at", "in_tray")
    inlines: ClassVar = [SubstituteInline]

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revision = form.instance.kit.revision
        revising.revision_changed(revision.pk)
        tell(request, [revision])


@admin.register(models.LimitChange)
class LimitChangeAdmin(Kept):
    """Who set which limit, when and why, to look up; it is set at the lead's desk."""

    list_display = ("revision", "name", "value", "by", "on", "why")
    list_filter = ("revision__spec", "name")
    search_fields = ("name", "by", "why")

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


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
