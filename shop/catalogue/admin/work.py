"""The work: stations, operations, routes and rework loops."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import admin, messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpRequest

from shop.catalogue import book, models, revising
from shop.catalogue.admin.kept import Kept
from shop.craft import rework
from shop.craft.words import listed


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
    list_display = ("code", "name", "station", "touch_min", "needs", "irreversible", "trained")
    list_filter = ("station", "irreversible", "trained", "machine")
    search_fields = ("code", "name")
    inlines: ClassVar = [GaugingInline]

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revising.operation_changed(form.instance.pk)


class RouteInline(admin.TabularInline):  # type: ignore[type-arg]
    """Rows of a route. The operations to choose from are read once, not once for each row."""

    extra = 0
    named: ClassVar[tuple[str, ...]]  # its fields that name an operation

    def get_queryset(self, request: HttpRequest) -> QuerySet[Any]:
        return super().get_queryset(request).select_related(*self.named)

    def get_formset(self, request: HttpRequest, obj: Any = None, **kwargs: Any) -> Any:
        formset: Any = super().get_formset(request, obj, **kwargs)
        for name in self.named:
            if field := formset.form.base_fields.get(name):
                field.choices = list(field.choices)
        return formset


class StopInline(RouteInline):
    model = models.RouteStop
    named = ("operation",)


StopFormSet = forms.inlineformset_factory(
    models.Route, models.RouteStop, fields=["operation", "place"]
)


class PrecedenceFormSet(forms.BaseInlineFormSet):  # type: ignore[type-arg]
    """The precedences, looked at together with the stops of the same form: the route is saved
    when it can be walked, or not at all."""

    def clean(self) -> None:
        super().clean()
        stops = StopFormSet(self.data, instance=self.instance)
        if any(self.errors) or not stops.is_valid():
            return  # each says so at its own field
        if faults := revising.faults_drawn(self.instance.name, _rows(stops), _rows(self)):
            raise ValidationError(faults)


def _rows(formset: forms.BaseInlineFormSet) -> list[Any]:  # type: ignore[type-arg]
    """The rows as they would be written."""
    return [
        form.instance
        for form in formset.forms
        if form.cleaned_data and form not in formset.deleted_forms
    ]


class PrecedenceInline(RouteInline):
    model = models.Precedence
    formset = PrecedenceFormSet
    named = ("before", "after")


@admin.register(models.Route)
class RouteAdmin(Kept):
    inlines: ClassVar = [StopInline, PrecedenceInline]
    actions = ("copy_to_change",)
    readonly_fields = ("to_change",)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Guitars are built by a route as it is: it is changed only before that."""
        allowed = super().has_change_permission(request, obj)
        return allowed and (obj is None or not revising.builders(obj))

    def get_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        built = obj is not None and revising.builders(obj)
        return ("name", "to_change") if built else ("name",)

    @admin.display(description="to change it")
    def to_change(self, route: models.Route) -> str:
        built = listed([str(one) for one in revising.builders(route)])
        return (
            f"Guitars of {built} are built by this route, so it stays as it is. Tick it in the "
            "list, choose “Copy to change it”, change the copy, and choose the copy in a draft "
            "of the spec."
        )

    @admin.action(description="Copy to change it", permissions=["add"])
    def copy_to_change(self, request: HttpRequest, queryset: QuerySet[models.Route]) -> None:
        for route in queryset:
            copy = revising.copy_route(route)
            words = f"{copy} is a copy of {route}. Change it, then choose it in a draft."
            self.message_user(request, words, messages.SUCCESS)

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        revising.route_changed(form.instance.pk)


class LoopForm(forms.ModelForm):  # type: ignore[type-arg]
    families = forms.MultipleChoiceField(
        choices=[(one, one) for one in rework.FAMILIES],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="The families of defects that lead here.",
    )


@admin.register(models.Loop)
class LoopAdmin(Kept):
    list_display = ("key", "title", "redo", "minutes", "keeps_hold", "unpairs", "active")
    list_filter = ("active", "keeps_hold")
    search_fields = ("key", "title", "triggers")
    form = LoopForm

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> tuple[str, ...]:
        """Instruments were sent on it by its key."""
        return ("key",) if obj else ()

    def get_changeform_initial_data(self, request: HttpRequest) -> dict[str, Any]:
        return {"station": book.station_id(rework.REPAIR)}
