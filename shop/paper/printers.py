"""The printers of the shop: by name, what is in them, and by how much they print beside."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from http import HTTPStatus
from typing import Any, Final, Self

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft.gauging import NotANumber, number
from shop.paper.calibrating import (
    OFFSETS,
    PAPERS,
    Offsets,
    Paper,
    calibration_page,
    offsets_of,
)
from shop.paper.facts.calibration import MARK_MM, moved
from shop.paper.models import FARTHEST_MM, Printer
from shop.paper.refusing import PressMissing
from shop.people.gate import BadgeRequest, needs

KEPT: Final = Decimal("0.1")  # no ruler on paper reads finer
MEASURED: Final = (
    _("Front: left edge to the upright line, in mm"),
    _("Front: upper edge to the level line, in mm"),
    _("Back: left edge to the upright line, in mm"),
    _("Back: upper edge to the level line, in mm"),
)
DISTANCES: Final = dict(zip(OFFSETS, MEASURED, strict=True))
UNMOVED: Final[Offsets] = [Decimal("0.0")] * len(OFFSETS)
_KEY: Final = re.compile(r"(-?\d{1,2}\.\d ){3}-?\d{1,2}\.\d", re.ASCII)


def said(offsets: Offsets) -> str:
    """By how much both sides are moved.

    >>> said([Decimal("0.4"), Decimal(0), Decimal(0), Decimal(0)])
    'front moved 0.4 mm to the right, back not moved'
    """
    right, down, back_right, back_down = offsets
    return _("front {front}, back {back}").format(
        front=moved(right, down), back=moved(back_right, back_down)
    )


class NameForm(forms.Form):
    """A printer that is to be known here."""

    name = forms.CharField(
        label=_("Name, as it stands on the printer"),
        max_length=40,
        error_messages={
            "required": _("Give the printer a name."),
            "max_length": _(
                "%(show_value)d characters. Give it a name of %(limit_value)d at most."
            ),
        },
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean_name(self) -> str:
        return " ".join(self.cleaned_data["name"].split())


class Measured(forms.Form):
    """What is in a printer, and what was measured on its calibration page. A distance that is
    left empty leaves what is kept."""

    sheet = forms.ChoiceField(
        label=_("What is in it"),
        choices=[(key, _(words)) for key, words in Printer.SHEETS],
        widget=forms.RadioSelect,
    )
    edge = forms.ChoiceField(
        label=_("It prints the back by flipping on the"),
        choices=[(key, _(words)) for key, words in Printer.EDGES],
        widget=forms.RadioSelect,
    )
    # By how much the page that was measured was moved: it says so itself.
    moved = forms.CharField(
        label=_("The page you measured says"), required=False, widget=forms.RadioSelect
    )

    def __init__(self, printer: Printer, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.printer = printer
        for name in ("sheet", "edge"):
            self.fields[name].error_messages |= {
                "required": _("Choose one of these."),
                "invalid_choice": _("%(value)s is none of these. Choose one."),
            }
        self._ask_which_page(offsets_of(printer))
        for name, label in DISTANCES.items():
            self.fields[name] = forms.CharField(
                label=label,
                required=False,
                widget=forms.TextInput(
                    attrs={"inputmode": "decimal", "autocomplete": "off", "maxlength": 20}
                ),
            )

    @classmethod
    def of(cls, printer: Printer, sent: Mapping[str, str] | None = None) -> Self:
        kept = {"sheet": printer.sheet, "edge": printer.edge, "moved": _key(offsets_of(printer))}
        return cls(printer, sent, initial=kept)

    def _ask_which_page(self, kept: Offsets) -> None:
        """Of two pages with the same lines, one printed before and one after: which it was."""
        pages = dict.fromkeys(_key(one) for one in (kept, UNMOVED))
        field = self.fields["moved"]
        if len(pages) == 1:
            field.widget = forms.HiddenInput()
        else:
            field.widget.choices = [(one, said(_offsets(one))) for one in pages]

    def clean_moved(self) -> Offsets:
        """Any offsets, not only those kept now: a page sent twice is to mean the same."""
        told: str = self.cleaned_data["moved"]
        try:
            offsets = _offsets(told) if told else UNMOVED
        except ValueError as why:
            raise forms.ValidationError(_("Choose what stands on the page you measured.")) from why
        return offsets

    def clean(self) -> dict[str, Any]:
        drawn = self.cleaned_data.get("moved", UNMOVED)
        for name, before in zip(DISTANCES, drawn, strict=True):
            typed = self.cleaned_data[name]
            self.cleaned_data[name] = getattr(self.printer, name)
            if typed:
                try:
                    self.cleaned_data[name] = _offset(typed, before)
                except NotANumber as why:
                    self.add_error(name, str(why))
        return self.cleaned_data

    def keep(self) -> None:
        """Raises ``Http404`` where the printer was removed in the meantime."""
        kept = {name: self.cleaned_data[name] for name in ("sheet", "edge", *DISTANCES)}
        if not Printer.objects.filter(pk=self.printer.pk).update(**kept):
            raise Http404


def _key(offsets: Offsets) -> str:
    return " ".join(f"{one:.1f}" for one in offsets)


def _offsets(key: str) -> Offsets:
    """The offsets a key stands for. Raises ``ValueError`` for what is none."""
    if not _KEY.fullmatch(key):
        raise ValueError(key)
    return [Decimal(one) for one in key.split()]


def _offset(typed: str, before: Decimal) -> Decimal:
    """By how much to move what is printed, of the distance measured on a page that was moved
    by so much already. Raises ``NotANumber`` for what no such page can measure."""
    distance = number(typed)
    offset = before + MARK_MM - distance
    if abs(MARK_MM - distance) > FARTHEST_MM or abs(offset) > FARTHEST_MM:
        raise NotANumber(
            f"{typed.strip()} is too far from {MARK_MM:.1f}: more than {FARTHEST_MM} mm is not "
            "put right here. See that the paper lies straight and the page was printed at "
            "100 %, print it again and measure."
        )
    return offset.quantize(KEPT, ROUND_HALF_UP)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("paper.print")
def printers(request: BadgeRequest) -> HttpResponse:
    """Every printer, and one more by its name. A name that is known already leads to it."""
    form = NameForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        name = form.cleaned_data["name"]
        found = Printer.objects.filter(name__iexact=name).first()
        if found is None:
            found, _made = Printer.objects.get_or_create(name=name)
            messages.success(request, f"{name} is added. Print its calibration page next.")
        return redirect("paper:printer", found.pk)
    shown = {"form": form, "printers": [(one, said(offsets_of(one))) for one in _all()]}
    return render(request, "paper/printers.html", shown, status=_status(form))


def _all() -> list[Printer]:
    return list(Printer.objects.all())


def _status(form: forms.Form) -> HTTPStatus:
    return HTTPStatus.UNPROCESSABLE_ENTITY if form.errors else HTTPStatus.OK


@never_cache
@require_http_methods(["GET", "POST"])
@needs("paper.print")
def printer(request: BadgeRequest, printer_id: int) -> HttpResponse:
    """One printer: what is in it, and what was measured on its calibration page."""
    found = get_object_or_404(Printer, pk=printer_id)
    form = Measured.of(found, request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        form.keep()
        kept = [form.cleaned_data[name] for name in DISTANCES]
        messages.success(request, f"Kept for {found.name}: {said(kept)}.")
        return redirect("paper:printer", found.pk)
    return _page(request, found, form, _status(form))


def _page(
    request: BadgeRequest,
    found: Printer,
    form: Measured,
    status: HTTPStatus = HTTPStatus.OK,
    why: str = "",
) -> HttpResponse:
    kept = said(offsets_of(found))
    other = "letter" if _paper_in(found) == "a4" else "a4"
    shown = {"printer": found, "form": form, "kept": kept, "other": other, "why": why}
    return render(request, "paper/printer.html", shown, status=status)


def _paper_in(printer: Printer) -> Paper:
    return "letter" if printer.sheet == "letter" else "a4"


@never_cache
@require_safe
@needs("paper.print")
def calibration(request: BadgeRequest, printer_id: int) -> HttpResponse:
    """The calibration page as a PDF, on the paper in the printer or on ``?paper=``."""
    found = get_object_or_404(Printer, pk=printer_id)
    asked = request.GET.get("paper")
    paper = next((one for one in PAPERS if one == asked), _paper_in(found))
    try:
        pdf = calibration_page(found, paper, timezone.now())
    except PressMissing as why:
        shown = Measured.of(found)
        return _page(request, found, shown, HTTPStatus.SERVICE_UNAVAILABLE, str(why))
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="calibration-{paper}.pdf"'},
    )


@require_POST
@needs("paper.print")
def remove(request: BadgeRequest, printer_id: int) -> HttpResponse:
    """A printer is not here any more. What was printed on it stays."""
    found = Printer.objects.filter(pk=printer_id).first()
    if found is not None:
        found.delete()
        messages.success(request, f"{found.name} is removed.")
    return redirect("paper:printers")
