"""How one item is kept: counted, ordered and weighed."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft.counting import DEAR_SETS_PCT, EVERY_DAYS, TOLERANCE_PCT
from shop.craft.size import plain
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise

CLASSES: Final = [("A", _("A: dear or scarce")), ("B", _("B: in between")), ("C", _("C: cheap"))]
TITLES: Final = {"Counting": 3, "Ordering": 5, "Weighing small parts": 4}
FAULTS: Final = ("required", "invalid", "min_value", "max_value")


def whole(label: StrPromise, least: int, most: int, *, required: bool = True) -> forms.IntegerField:
    """A whole number from ``least`` to ``most``."""
    return forms.IntegerField(
        label=label,
        min_value=least,
        max_value=most,
        required=required,
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            FAULTS,
            format_lazy(_("Give a whole number from {least} to {most}."), least=least, most=most),
        ),
    )


def part(
    label: StrPromise, least: str, most: str, places: int, *, required: bool
) -> forms.DecimalField:
    """A number from ``least`` to ``most`` with so many decimals at most."""
    told = format_lazy(
        _("Give a number from {least} to {most}, {places} decimals at most."),
        least=least, most=most, places=places,
    )  # fmt: skip
    return forms.DecimalField(
        label=label,
        min_value=Decimal(least),
        max_value=Decimal(most),
        decimal_places=places,
        required=required,
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
        error_messages=dict.fromkeys((*FAULTS, "max_digits", "max_decimal_places"), told),
    )


class KeepForm(forms.Form):
    """How an item is kept. What is left empty goes by its class, or is not weighed."""

    cls = forms.ChoiceField(
        label=_("Class"), choices=CLASSES, widget=forms.RadioSelect,
        error_messages=dict.fromkeys(("required", "invalid_choice"), _("Choose a class.")),
    )  # fmt: skip
    count_every_days = whole(_("Days from count to count"), 1, 3650, required=False)
    tolerance_pct = part(_("A count may be off by, per cent"), "0", "100", 1, required=False)
    least = whole(_("Never ordered later than at"), 0, 99_999)
    pack = whole(_("Pieces in a pack"), 1, 9_999)
    lead_days = whole(_("Days from order to receipt"), 0, 730)
    lead_sd_days = part(_("Their standard deviation, days"), "0", "365", 1, required=True)
    service_pct = part(_("Orders without a short, per cent"), "50.1", "99.9", 1, required=True)
    small_parts = whole(_("Small parts in one set, the spare with them"), 0, 999)
    unit_g = part(_("One small part, gram"), "0.001", "9999", 3, required=False)
    unit_sd_g = part(_("Its standard deviation, gram"), "0", "9999", 3, required=False)
    bag_g = part(_("The empty bag, gram"), "0", "9999", 2, required=False)

    @property
    def parts(self) -> list[tuple[str, list[Any]]]:
        """The fields under their headings."""
        fields, found = iter(self), []
        for title, count in TITLES.items():
            found.append((title, [next(fields) for _ in range(count)]))
        return found


# By class: days from count to count, and how far off a count may be, per cent.
USUAL: Final = [(cls, days, plain(TOLERANCE_PCT[cls])) for cls, days in EVERY_DAYS.items()]


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.count")
def keep(request: BadgeRequest, key: str) -> HttpResponse:
    """How one item is counted, ordered and weighed."""
    kept = shelf.kept(key)
    if kept is None:
        raise Http404
    form = (
        KeepForm(_comma_read(request.POST))
        if request.method == "POST"
        else KeepForm(initial={name: getattr(kept, name) for name in KeepForm.base_fields})
    )
    if request.method == "POST" and form.is_valid():
        ledger.keep_rule(kept.item_id, **form.cleaned_data)
        messages.success(request, f"{kept.key} is kept so.")
        return redirect("kitting:keep", kept.key)
    shown = {
        "kept": kept,
        "form": form,
        "usual": USUAL,
        "dear_sets_pct": plain(DEAR_SETS_PCT),
    }
    return render(request, "kitting/keep.html", shown)


def _comma_read(sent: Any) -> dict[str, str]:
    """What was sent, a decimal comma read as a point."""
    return {name: sent.get(name, "").strip().replace(",", ".") for name in KeepForm.base_fields}
