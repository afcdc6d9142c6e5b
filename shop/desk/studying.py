"""How well a gauge repeats: the same parts, measured again and again by several people."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.craft.gauging.entering import whole
from shop.craft.measuring import entered
from shop.craft.measuring.entered import Entered
from shop.craft.words import mm
from shop.desk.gauges import LengthField, told, tool_or_404
from shop.floor.door import Act, GaugeStudied, record
from shop.people.gate import BadgeRequest, needs


@dataclass(frozen=True, slots=True)
class Size:
    """How large a study is: parts, people, and how often each measures each part."""

    parts: int
    people: int
    trials: int

    @classmethod
    def of(cls, sent: Mapping[str, str]) -> Size:
        """As an address or a form says it, between the least and the most that a page takes."""
        return cls(*(_between(sent.get(name, ""), *SIZES[name]) for name in SIZES))


# Of each: the least, the most a page takes, and the usual. Usual sizes after AIAG, Measurement
# Systems Analysis, 4th ed. (2010); the most is common practice, no source.
SIZES: Final = {"parts": (2, 20, 10), "people": (2, 5, 3), "trials": (2, 5, 3)}
LONGEST: Final = 20_000  # letters of a pasted list


def _between(text: str, least: int, most: int, usual: int) -> int:
    asked = whole(text)
    return usual if asked is None else min(max(asked, least), most)


class StudyForm(forms.Form):
    """What was measured, and how much it may vary."""

    what = forms.CharField(
        label=_("What was measured"),
        max_length=60,
        error_messages={"required": _("Say what was measured.")},
    )
    tolerance = LengthField(
        label=_("Its tolerance, mm: from the least that fits to the most"),
        error_messages={"required": _("Write its whole width.")},
    )
    rows = forms.CharField(
        label=_("Or paste rows here: part, person, value"),
        widget=forms.Textarea(attrs={"rows": 6}),
        max_length=LONGEST,
        required=False,
    )


@never_cache
@require_http_methods(["GET", "POST"])
@needs("gauge.keep")
def study(request: BadgeRequest, gauge: str) -> HttpResponse:
    """A study to be filled in: a field for each value, or a list of them."""
    tool = tool_or_404(gauge)
    size = Size.of((request.POST if request.method == "POST" else request.GET).dict())
    form = StudyForm(request.POST or None)
    shown: dict[str, Any] = {"tool": tool, "size": size, "form": form, "key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        found = _entered(request, size, form.cleaned_data["rows"])
        if found.problems:
            shown["problems"] = found.problems
        else:
            known = form.cleaned_data
            deed = GaugeStudied(tool.name, known["what"], known["tolerance"], found.values)
            outcome = record(Act.of(request, timezone.localtime()), deed)
            if outcome.done:
                width = mm(known["tolerance"])
                told(request, outcome, f"The study of {tool.called} is kept, tolerance {width}.")
                return redirect("desk:gauge", gauge)
            shown["findings"] = outcome.findings
    shown |= {"parts": _fields(request, size), "sizes": _sizes(size)}
    return render(request, "desk/gauge_study.html", shown)


def _entered(request: HttpRequest, size: Size, pasted: str) -> Entered:
    if pasted.strip():
        return entered.rows(pasted)
    typed = {spot: request.POST.get(_name(*spot), "") for spot in _spots(size)}
    return entered.table(typed, size.parts, size.people, size.trials)


def _spots(size: Size) -> list[tuple[int, int, int]]:
    return [
        (part, person, trial)
        for part in range(1, size.parts + 1)
        for person in range(1, size.people + 1)
        for trial in range(1, size.trials + 1)
    ]


def _name(part: int, person: int, trial: int) -> str:
    return f"v-{part}-{person}-{trial}"


def _fields(request: HttpRequest, size: Size) -> list[dict[str, Any]]:
    """Each part with its people, each person with a field for each time, as typed so far."""
    return [
        {
            "number": part,
            "people": [
                {
                    "number": person,
                    "trials": [
                        {
                            "number": trial,
                            "name": _name(part, person, trial),
                            "typed": request.POST.get(_name(part, person, trial), ""),
                        }
                        for trial in range(1, size.trials + 1)
                    ],
                }
                for person in range(1, size.people + 1)
            ],
        }
        for part in range(1, size.parts + 1)
    ]


def _sizes(size: Size) -> list[dict[str, Any]]:
    words = {
        "parts": _("Parts"),
        "people": _("People"),
        "trials": _("Times each measures each part"),
    }
    return [
        {
            "name": name,
            "words": words[name],
            "chosen": getattr(size, name),
            "choices": range(least, most + 1),
        }
        for name, (least, most, _usual) in SIZES.items()
    ]
