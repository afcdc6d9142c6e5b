"""The kit of a revision: its lines, and what may stand in for each."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import admin
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from shop.catalogue import models, revising
from shop.catalogue.admin.kept import DraftOnly, Kept, tell


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
