"""Who is signed off for which station: the lead's page for it."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from shop.catalogue import book
from shop.desk.forms import day
from shop.people import badges
from shop.people.badges import NotSignedOff
from shop.people.gate import BadgeRequest, needs

CHOOSE: Final = {
    "badge": _("Choose a badge"),
    "station": _("Choose a station"),
    "trainer": _("Choose a trainer"),
}
MISSING: Final = {
    "badge": _("Choose a badge."),
    "station": _("Choose a station."),
    "trainer": _("Choose a trainer."),
}
GONE: Final = {
    "badge": _("%(value)s is no badge to choose any more. Choose one of the list."),
    "station": _("%(value)s is no station to choose any more. Choose one of the list."),
    "trainer": _("%(value)s is no trainer to choose any more. Choose one of the list."),
}


class TrainingForm(forms.Form):
    """Who is signed off where, by which trainer, on which day."""

    badge = forms.ChoiceField(label=_("Badge"))
    station = forms.ChoiceField(label=_("Station"))
    trainer = forms.ChoiceField(label=_("Trainer who signs"))
    on = forms.DateField(
        label=_("Day it was signed"),
        widget=day(),
        error_messages={
            "required": _("Give the day it was signed."),
            "invalid": _("Write the day as 2031-03-14."),
        },
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        people = [(one["code"], f"{one['code']} {one['roles']}") for one in badges.on_the_floor()]
        self.choose("badge", people)
        self.choose("station", book.stations())
        self.choose("trainer", people)

    def choose(self, name: str, choices: Any) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # declared so above
        field.choices = [("", CHOOSE[name]), *choices]
        field.error_messages |= {"required": MISSING[name], "invalid_choice": GONE[name]}

    def clean_on(self) -> date:
        on: date = self.cleaned_data["on"]
        if on > self.today:
            raise forms.ValidationError(
                _("{day} is still to come. Give the day it was signed.").format(day=on)
            )
        if badges.year_after(on) < self.today:
            raise forms.ValidationError(
                _("What was signed on {day} has run out. Give the day of a newer sign-off.").format(
                    day=on
                )
            )
        return on

    def sign(self) -> str:
        """Sign the badge off and say so. Raises ``NotSignedOff`` where the trainer may not."""
        known = self.cleaned_data
        badge, trainer = (badges.active(known[name]) for name in ("badge", "trainer"))
        assert badge is not None  # chosen a moment ago
        assert trainer is not None  # likewise
        until = badges.train(badge, known["station"], trainer, known["on"])
        return f"{badge} is signed off for {_station(known['station'])} until {until}."


def _station(code: str) -> str:
    return dict(book.stations()).get(code, code)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("badge.train")
def training(request: BadgeRequest) -> HttpResponse:
    """Sign a badge off for a station; below, everybody who is, station by station."""
    today = timezone.localdate()
    usual = {"trainer": request.user.code, "on": today}
    form = TrainingForm(request.POST or None, today=today, initial=usual | request.GET.dict())
    if request.method == "POST" and form.is_valid():
        try:
            messages.success(request, form.sign())
        except NotSignedOff as why:
            form.add_error("trainer", str(why))
        else:
            return redirect("desk:training")
    return render(request, "desk/training.html", {"form": form} | _signed_off(today))


def _signed_off(today: date) -> dict[str, Any]:
    """Who is signed off, along the floor; at each station what ran out comes first."""
    stations: dict[str, list[dict[str, Any]]] = {code: [] for code, _ in book.stations()}
    for one in badges.signed_off():
        row = {"signed": one, "counts": one.until >= today}
        stations.setdefault(one.station, []).append(row)
    for rows in stations.values():
        rows.sort(key=lambda row: row["counts"])
    return {
        "stations": [(_station(code), rows) for code, rows in stations.items() if rows],
        "nobody": [_station(code) for code, rows in stations.items() if not rows],
    }


@require_POST
@needs("badge.train")
def end_training(request: BadgeRequest) -> HttpResponse:
    """A badge is not signed off for a station any more, from today on."""
    code, station = (request.POST.get(name, "") for name in ("badge", "station"))
    badge = badges.active(code)
    if badge is None:
        messages.error(request, "That badge is not in use. Choose one of the list.")
        return redirect("desk:training")
    try:
        badges.end_training(badge, station, request.user, timezone.localdate())
    except NotSignedOff as why:
        messages.error(request, str(why))
    else:
        messages.success(request, f"{code} is not signed off for {_station(station)} any more.")
    return redirect("desk:training")
