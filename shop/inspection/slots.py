"""The slots of the hold rack as the lead keeps them: put up, retired, labelled."""

from __future__ import annotations

import re
import uuid
from collections.abc import Sequence
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft.words import listed, several
from shop.floor import board
from shop.floor.door import Act, SlotsKept, record
from shop.people.gate import BadgeRequest, may, needs

NAME: Final = re.compile(r"H-[0-9]{3}")
MOST_LABELS: Final = 120  # an address is to stay one that a browser takes
NAMED: Final = 3  # slots that a sentence names; of more it says how many


class UpForm(forms.Form):
    """How many slots are put up."""

    up = forms.IntegerField(
        label=_("How many slots to put up"),
        min_value=1,
        max_value=999,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("required", "invalid", "min_value", "max_value"),
            _("Write a whole number of slots, 1 to 999."),
        ),
    )


@never_cache
@require_http_methods(["GET", "POST"])
@needs("rack.keep")
def slots(request: BadgeRequest) -> HttpResponse:
    """Put slots up, retire free ones, take retired ones back, print their labels."""
    every = board.slots(retired=True)
    form = UpForm(request.POST if "up" in request.POST else None)
    shown: dict[str, Any] = {"form": form}
    deed = _deed(request.POST, form)
    if deed is not None:
        outcome = record(Act.of(request, timezone.localtime()), deed)
        if outcome.done:
            messages.success(request, _words(deed))
            known = {one.code for one in every}
            new = [one.code for one in board.slots() if one.code not in known]
            return redirect(f"{reverse('inspection:slots')}{f'?new={new[0]}' if new else ''}")
        shown["findings"] = outcome.findings
    in_use = [one for one in every if not one.retired]
    first = request.GET.get("new", "")
    new_ones = [one.code for one in in_use if NAME.fullmatch(first) and one.code >= first]
    shown |= {
        "key": uuid.uuid4(),
        "in_use": in_use,
        "free": [one for one in in_use if not one.serial],
        "taken": [one for one in in_use if one.serial],
        "retired": [one for one in every if one.retired],
        "new": new_ones,
        "labels": _labels(new_ones),
        "may_print": may(request.user, "paper.print"),
    }
    return render(request, "inspection/slots.html", shown)


def _deed(sent: QueryDict, form: UpForm) -> SlotsKept | None:
    """What was asked for; nothing where that is not readable, or nothing was."""
    named = tuple(dict.fromkeys(one for one in sent.getlist("slot") if NAME.fullmatch(one)))
    match sent.get("do", ""):
        case "retire":
            return SlotsKept(retire=named)
        case "back":
            return SlotsKept(back=named)
        case "up" if form.is_valid():
            return SlotsKept(up=form.cleaned_data["up"])
        case _:
            return None


def _words(deed: SlotsKept) -> str:
    """What was done, in a sentence."""
    if deed.up:
        many = several(deed.up, "slot")
        return f"{many} put up after the last one."
    if deed.retire:
        return f"Retired: {_named(deed.retire)}."
    return f"Back in use: {_named(deed.back)}."


def _named(codes: Sequence[str]) -> str:
    return listed([*codes]) if len(codes) <= NAMED else several(len(codes), "slot")


def _labels(codes: Sequence[str]) -> str:
    """The labels of these slots, as an address asks for them."""
    pairs = [("form", "slot_label"), *(("serial", one) for one in codes[:MOST_LABELS])]
    return urlencode(pairs)
