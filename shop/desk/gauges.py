"""The measuring tools: which there are, when each is to be checked, and how it was last time."""

from __future__ import annotations

import csv
import uuid
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.craft.gauging.entering import NotANumber, number
from shop.craft.measuring.checks import Standing
from shop.craft.measuring.tool import Tool
from shop.craft.spreadsheet import cells
from shop.desk.forms import day
from shop.floor import board
from shop.floor.door import Act, GaugeChecked, GaugeKept, Outcome, record
from shop.people.gate import BadgeRequest, may, needs

KEPT: Final = Decimal("0.0001")  # what is kept of a length, in mm
MARKS: Final = {Standing.GOOD: "clear", Standing.SOON: "wait"}  # any other is a warning
USUAL_DAYS: Final = 90  # from check to check; common practice, no source


class LengthField(forms.CharField):
    """A length in mm, with a comma or a point; one in inches has its mark behind it."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def __init__(self, **more: Any) -> None:
        super().__init__(max_length=24, **more)

    def clean(self, value: Any) -> Decimal | None:
        text: str = super().clean(value)
        if not text:
            return None
        try:
            value_mm = number(text).quantize(KEPT, ROUND_HALF_UP)
        except NotANumber as why:
            raise forms.ValidationError(str(why)) from why
        return Decimal(f"{value_mm.normalize():f}") if value_mm else Decimal(0)  # and never −0


class GaugeForm(forms.Form):
    """What a gauge is, and how often it is checked."""

    name = forms.CharField(label=_("Name, as G-07"), max_length=8, strip=True)
    words = forms.CharField(label=_("What it is"), max_length=40)
    resolution = LengthField(
        label=_("One step of it, mm; empty where it reads no length"), required=False
    )
    interval_days = forms.IntegerField(
        label=_("Days from check to check"),
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        error_messages={"invalid": _("Write a whole number of days.")},
    )

    def deed(self, *, retired: bool = False) -> GaugeKept:
        known = self.cleaned_data
        return GaugeKept(
            known["name"].upper(),
            known["words"],
            known["resolution"],
            known["interval_days"],
            retired,
        )


class CheckForm(forms.Form):
    """What a check came to."""

    on = forms.DateField(
        label=_("Day it was checked"),
        widget=day(),
        error_messages={
            "required": _("Give the day it was checked."),
            "invalid": _("Write the day as 2031-03-14."),
        },
    )
    deviation = LengthField(
        label=_("It was off by, mm: what it showed less what it should have"), required=False
    )
    passed = forms.ChoiceField(
        label=_("How it did"),
        choices=[("yes", _("It passed")), ("no", _("It failed"))],
        widget=forms.RadioSelect,
        error_messages={"required": _("Say whether it passed.")},
    )
    note = forms.CharField(label=_("Note"), max_length=200, required=False)

    def __init__(self, *args: Any, tool: Tool, **more: Any) -> None:
        super().__init__(*args, **more)
        self.tool = tool
        if tool.resolution_mm is None:
            del self.fields["deviation"]

    def deed(self) -> GaugeChecked:
        known = self.cleaned_data
        return GaugeChecked(
            self.tool.name,
            known["on"],
            known["passed"] == "yes",
            known.get("deviation"),
            known["note"],
        )


def tool_or_404(name: str) -> Tool:
    found = board.tool(name)
    if found is None:
        raise Http404
    return found


def told(request: HttpRequest, outcome: Outcome, words: str) -> None:
    """Say what was done, and what was found out by it."""
    messages.success(request, words)
    for one in outcome.findings:
        messages.warning(request, f"{one.words} {one.then}".strip())


def rows(on: date) -> list[dict[str, Any]]:
    """The gauges in use, those to be checked first, each with its mark."""
    return [
        {
            "tool": one,
            "standing": one.standing(on),
            "mark": MARKS.get(one.due(on).standing, "warn"),
            "until": one.due(on).until,
        }
        for one in board.tools_by_need(on)
    ]


@never_cache
@require_http_methods(["GET", "POST"])
@needs("gauge.keep")
def gauges(request: BadgeRequest) -> HttpResponse:
    """All gauges, overdue ones first; below, a new one."""
    at = timezone.localtime()
    usual = {"name": board.next_tool_name(), "interval_days": USUAL_DAYS}
    form = GaugeForm(request.POST or None, initial=usual)
    shown: dict[str, Any] = {"form": form, "key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        deed = form.deed()
        if board.tool(deed.name) and not _sent_before(request, at):
            form.add_error("name", _("A gauge is called so already. Give another name."))
        else:
            outcome = record(Act.of(request, at), deed)
            if outcome.done:
                told(request, outcome, f"{deed.name} is on the list. Check it, then print its tag.")
                return redirect("desk:gauge", deed.name)
            shown["findings"] = outcome.findings
    away = [one for one in board.tools(retired=True) if one.retired]
    shown |= {"rows": rows(at.date()), "away": away}
    return render(request, "desk/gauges.html", shown)


def _sent_before(request: HttpRequest, at: datetime) -> bool:
    """Whether this very form was sent before and did its work, as on a second tap."""
    sent = board.answered(Act.of(request, at).key)
    return sent is not None and sent["result"] == "recorded"


@never_cache
@require_safe
@needs("gauge.keep")
def gauges_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="gauges.csv"'
    sheet = csv.writer(response)
    sheet.writerow(
        ["gauge", "what", "step mm", "days", "checked", "off mm", "passed", "until", "standing"]
    )
    for row in rows(timezone.localdate()):
        one: Tool = row["tool"]
        passed = "" if one.checked_on is None else "yes" if one.passed else "no"
        sheet.writerow(
            cells(
                one.name, one.words, _plain(one.resolution_mm), one.interval_days,
                one.checked_on or "", _plain(one.deviation_mm), passed, row["until"] or "",
                row["standing"],
            )
        )  # fmt: skip
    return response


def _plain(value_mm: Decimal | None) -> str:
    return "" if value_mm is None else f"{value_mm.normalize():f}"


@never_cache
@require_http_methods(["GET", "POST"])
@needs("gauge.keep")
def gauge(request: BadgeRequest, gauge: str) -> HttpResponse:
    """One gauge: how it stands, a check of it, its checks and studies so far."""
    tool = tool_or_404(gauge)
    at = timezone.localtime()
    form = CheckForm(request.POST or None, tool=tool, initial={"on": at.date()})
    if request.method == "POST" and form.is_valid():
        outcome = record(Act.of(request, at), deed := form.deed())
        if outcome.done:
            told(request, outcome, f"The check of {tool.called} on {deed.on} is noted.")
            return redirect("desk:gauge", gauge)
        return _page(request, tool, form, findings=outcome.findings)
    return _page(request, tool, form)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("gauge.keep")
def keep(request: BadgeRequest, gauge: str) -> HttpResponse:
    """Change what is said of a gauge, put it away, or take it back into use."""
    tool = tool_or_404(gauge)
    usual = {
        "name": tool.name,
        "words": tool.words,
        "resolution": _plain(tool.resolution_mm),
        "interval_days": tool.interval_days,
    }
    sent = request.POST.copy() if request.method == "POST" else None
    if sent is not None:
        sent["name"] = tool.name
    form = GaugeForm(sent, initial=usual)
    shown: dict[str, Any] = {"tool": tool, "form": form, "key": uuid.uuid4()}
    if request.method == "POST" and form.is_valid():
        deed = form.deed(retired="away" in request.POST)
        outcome = record(Act.of(request, timezone.localtime()), deed)
        if outcome.done:
            words = f"{tool.name} is put away." if deed.retired else f"{tool.name} is kept so."
            told(request, outcome, words)
            return redirect("desk:gauge", gauge)
        shown["findings"] = outcome.findings
    return render(request, "desk/gauge_kept.html", shown)


def _page(request: BadgeRequest, tool: Tool, form: CheckForm, **more: Any) -> HttpResponse:
    on = timezone.localdate()
    failed = tool.due(on).standing is Standing.FAILED
    shown = {
        "tool": tool,
        "standing": tool.standing(on),
        "mark": MARKS.get(tool.due(on).standing, "warn"),
        "form": form,
        "key": uuid.uuid4(),
        "checks": board.checks_of(tool.name),
        "studies": board.studies_of(tool.name),
        "read_with": board.read_with(tool.name) if failed else (),
        "may_print": may(request.user, "paper.print"),
    }
    return render(request, "desk/gauge.html", shown | more)
