"""How far a top, a hole and a board move between two climates, with the arithmetic."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.gauging.entering import NotANumber, number
from shop.craft.lengths import MM_PER_INCH, length
from shop.craft.size import plain
from shop.craft.wood.movement import Climate, Move, Part
from shop.craft.wood.room import RH_PCT, TEMP_C
from shop.craft.wood.species import BY_KEY, SPECIES, Cut
from shop.craft.words import THIN, mm
from shop.floor import board
from shop.people.gate import BadgeRequest, needs

WIDTH_MM: Final = (Decimal(1), Decimal(1000))

PARTS: Final = (
    (Part.TOP, _("Top or back, across its width")),
    (Part.HOLE, _("Hole, across the grain")),
    (Part.BOARD, _("Board, across its width")),
)
CUTS: Final = ((Cut.QUARTERED, _("Quartered")), (Cut.FLAT, _("Flat-sawn")))

# What is asked where the address says nothing: usual widths, and a room that was aimed at
# against a heated one in winter.
USUAL: Final = {
    Part.TOP: ("sitka-spruce", Cut.QUARTERED, Decimal(400)),
    Part.HOLE: ("mahogany", Cut.FLAT, Decimal("8.73")),
    Part.BOARD: ("east-indian-ebony", Cut.QUARTERED, Decimal(56)),
}
BEFORE: Final = ("21", "45")
AFTER: Final = ("21", "30")


def figure(label: Any) -> forms.RegexField:
    """A figure of the air, with a decimal comma or point."""
    return forms.RegexField(
        r"^[+-]?[0-9]{1,3}([.,][0-9])?$",
        label=label,
        strip=True,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        error_messages={"invalid": _("A figure with one decimal at most, as 21.5.")},
    )


class WoodForm(forms.Form):
    """The part, its wood, and the air before and after."""

    part = forms.ChoiceField(label=_("What moves"), choices=PARTS, widget=forms.RadioSelect)
    wood = forms.ChoiceField(label=_("Wood"), choices=[(one.key, one.name) for one in SPECIES])
    cut = forms.ChoiceField(label=_("How it is cut"), choices=CUTS, widget=forms.RadioSelect)
    width = forms.CharField(
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        max_length=20,
    )
    before_c = figure(_("Before: temperature, °C"))
    before_rh = figure(_("Before: humidity, %RH"))
    after_c = figure(_("After: temperature, °C"))
    after_rh = figure(_("After: humidity, %RH"))

    def __init__(self, said: dict[str, str], *, inch: bool) -> None:
        super().__init__(said)
        self.inch = inch
        self.fields["width"].label = _("Width, in inches") if inch else _("Width, in millimetres")

    def clean_width(self) -> Decimal:
        try:
            width_mm = number(self.cleaned_data["width"], inch=self.inch)
        except NotANumber as why:
            raise forms.ValidationError(str(why)) from why
        least, most = WIDTH_MM
        if not least <= width_mm <= most:
            said, low, high = (self._said(one) for one in (width_mm, least, most))
            raise forms.ValidationError(f"{said} cannot be: a width is {low} to {high}.")
        return width_mm

    def clean(self) -> dict[str, Any]:
        known = super().clean() or {}
        for name, unit, (least, most) in (
            ("before_c", "°C", TEMP_C),
            ("after_c", "°C", TEMP_C),
            ("before_rh", "%RH", RH_PCT),
            ("after_rh", "%RH", RH_PCT),
        ):
            value = Decimal(str(known[name]).replace(",", ".")) if name in known else None
            if value is not None and not least <= value <= most:
                self.add_error(
                    name,
                    f"{plain(value)}{THIN}{unit} is of no room that is worked in: "
                    f"{plain(least)} to {plain(most)}{THIN}{unit} can be.",
                )
        return known

    def _said(self, value_mm: Decimal) -> str:
        return length(value_mm, "inch") if self.inch else mm(value_mm)

    def move(self) -> Move:
        """What was asked. Only of a form that is valid."""
        known = self.cleaned_data
        before, after = (
            Climate(*(float(known[f"{when}_{what}"].replace(",", ".")) for what in ("c", "rh")))
            for when in ("before", "after")
        )
        return Move(
            Part(known["part"]),
            BY_KEY[known["wood"]],
            Cut(known["cut"]),
            float(known["width"]),
            before,
            after,
        )


@never_cache
@require_safe
@needs("room.log")
def wood(request: BadgeRequest) -> HttpResponse:
    """What a part comes to from one air to another. The address holds all that is asked."""
    inch = request.user.units == "inch"
    form = WoodForm(_asked(request, inch=inch), inch=inch)
    shown: dict[str, Any] = {"form": form, "usual": [part for part, _words in PARTS]}
    if form.is_valid():
        shown["move"] = form.move()
    return render(request, "desk/wood.html", shown)


def _asked(request: HttpRequest, *, inch: bool) -> dict[str, str]:
    """What the address says, and the usual for the rest; after: the room as it was read last."""
    part = request.GET.get("part", "")
    usual = USUAL[Part(part) if part in list(Part) else Part.TOP]
    species, cut, width_mm = usual
    after = AFTER
    if last := board.room(fresh=False):
        after = (str(last.temp_c), str(last.rh_pct))
    width = f"{width_mm / MM_PER_INCH:.3f}" if inch else str(width_mm)
    names = ("part", "wood", "cut", "width", "before_c", "before_rh", "after_c", "after_rh")
    values = (Part.TOP, species, cut, width, *BEFORE, *after)
    said = {name: request.GET.get(name, "").strip() for name in names}
    return {name: said[name] or str(value) for name, value in zip(names, values, strict=True)}
