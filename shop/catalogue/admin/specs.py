"""Specs, their revisions and woods, and the limits a lead set."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import admin, messages
from django.db.models import QuerySet
from django.http import HttpRequest

from shop.catalogue import models, revising
from shop.catalogue.admin.kept import DraftOnly, Kept, tell


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


@admin.register(models.SpecRevision)
class RevisionAdmin(DraftOnly, Kept):
    list_display = ("__str__", "state", "hand", "strings", "tuner_family", "route")
    list_filter = ("state", "spec")
    actions = ("open_for_releases", "copy_as_draft", "copy_with_route")
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

    @admin.action(description="Copy as a draft with a route of its own to change")
    def copy_with_route(
        self, request: HttpRequest, queryset: QuerySet[models.SpecRevision]
    ) -> None:
        copied = partial(revising.next_draft, own_route=True)
        for revision in queryset.select_related("spec", "route"):
            self._try(request, copied, revision, "is copied as a draft with its own route.")

    def _try(self, request: HttpRequest, deed: Any, revision: Any, words: str) -> None:
        try:
            deed(revision)
        except revising.NotReady as why:
            self.message_user(request, str(why), messages.ERROR)
        else:
            self.message_user(request, f"{revision} {words}", messages.SUCCESS)


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
