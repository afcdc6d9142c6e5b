"""What is on order: noted by its order's number, corrected by it, given up with a reason."""

from __future__ import annotations

import csv
import re
from datetime import date
from typing import Any, Final

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from shop.catalogue import book
from shop.craft.phrasebook import searched
from shop.craft.spreadsheet import cells
from shop.people.gate import BadgeRequest, needs
from shop.people.languages import say
from shop.stock import ledger, shelf

REASONS: Final = ("Sold out", "Ordered by mistake", "Another is ordered for it")
MOST: Final = 99_999
DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
YEARS_BACK: Final = 1  # what is late for longer than that never comes
YEARS_AHEAD: Final = 5


class ExpectForm(forms.Form):
    """So many of an item are on order, and due then."""

    item = forms.CharField(max_length=12)
    quantity = forms.CharField(max_length=8)
    due_on = forms.CharField()
    order = forms.CharField(max_length=24, required=False)
    item_id: int | None = None

    def clean_item(self) -> str:
        key: str = self.cleaned_data["item"].strip().upper()
        self.item_id = book.item_ids([key]).get(key)
        if self.item_id is None:
            raise forms.ValidationError(f"There is no item {key}. Choose one of the list.")
        return key

    def clean_quantity(self) -> int:
        told: str = self.cleaned_data["quantity"]
        number = int(told) if told.isascii() and told.isdecimal() else 0
        if not 1 <= number <= MOST:
            raise forms.ValidationError(f"{told} cannot be on order. Give a number from 1.")
        return number

    def clean_due_on(self) -> date:
        told: str = self.cleaned_data["due_on"]
        try:
            day = date.fromisoformat(told if DAY.fullmatch(told) else "")
        except ValueError as why:
            shown = told[:20]
            raise forms.ValidationError(f"{shown} is no date. Write it as 2031-03-31.") from why
        if not _can_be_due(day, timezone.localdate()):
            raise forms.ValidationError(
                f"{told} cannot be due: a day from {YEARS_BACK} year back to {YEARS_AHEAD} years "
                "ahead. Look at the year."
            )
        return day

    def clean_order(self) -> str:
        # Without a number the same tap sent twice would be two deliveries.
        told = " ".join(self.cleaned_data["order"].split())
        if not told:
            raise forms.ValidationError("Give the number of the order, so that it is kept once.")
        return told

    def first_fault(self) -> str:
        fields = {"item": "item", "quantity": "quantity", "due_on": "day", "order": "number"}
        name, faults = next(iter(self.errors.items()))
        empty = not str(self.data.get(name, "")).strip()
        if empty and name != "order":
            return f"No {fields[name]} yet. Give one."
        return str(faults[0])


def _can_be_due(day: date, today: date) -> bool:
    """Whether a delivery may be due on this day: by its year, and on the same day of it."""
    asked, now = ((one.year, one.month, one.day) for one in (day, today))
    first, last = (now[0] - YEARS_BACK, *now[1:]), (now[0] + YEARS_AHEAD, *now[1:])
    return first <= asked <= last


def _filtered(request: HttpRequest) -> tuple[list[shelf.DeliveryRow], str]:
    """The deliveries narrowed to the words asked for; every word must be found."""
    asked = request.GET.get("words", "").strip()
    words = asked.lower().split()
    rows = shelf.deliveries()
    found = [row for row in rows if all(one in searched(row.short_words, say) for one in words)]
    return found, asked


@never_cache
@require_safe
@needs("stock.see")
def deliveries(request: BadgeRequest) -> HttpResponse:
    """What is to come, the earliest first, and what came or was given up."""
    return _page(request)


def _page(request: BadgeRequest, typed: Any = None) -> HttpResponse:
    rows, words = _filtered(request)
    today = timezone.localdate()
    shown = {
        "coming": [(row, row.late(today)) for row in rows if row.left],
        "over": [row for row in rows if not row.left],
        "words": words,
        "items": book.items(),
        "reasons": REASONS,
        "typed": typed or {"item": request.GET.get("item", "")},
    }
    return render(request, "kitting/deliveries.html", shown)


@never_cache
@require_safe
@needs("stock.see")
def deliveries_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="deliveries.csv"'
    sheet = csv.writer(response)
    sheet.writerow(["item", "name", "order", "quantity", "came", "to come", "due", "given up"])
    rows, _ = _filtered(request)
    for row in rows:
        sheet.writerow(
            cells(
                row.key, row.name, row.order, row.quantity, row.came, row.left, row.due_on,
                row.ended_why,
            )
        )  # fmt: skip
    return response


@never_cache
@require_POST
@needs("stock.receive")
def expect(request: BadgeRequest) -> HttpResponse:
    """Note what is on order, or correct it by its order's number."""
    form = ExpectForm(request.POST)
    fault = "" if form.is_valid() else form.first_fault()
    if not fault:
        said = form.cleaned_data
        fault = _expect(form.item_id or 0, said)
    if fault:
        messages.error(request, fault)
        return _page(request, request.POST)
    messages.success(
        request,
        f"{said['quantity']} of {said['item']} due {said['due_on'].isoformat()}, "
        f"order {said['order']}.",
    )
    return redirect("kitting:deliveries")


def _expect(item_id: int, said: dict[str, Any]) -> str:
    """Note it; why it could not be noted, or nothing."""
    key, order = said["item"], said["order"]
    for row in shelf.deliveries():
        if (row.key, row.order) == (key, order) and row.ended_why:
            return f"{order} was given up for {key}: {row.ended_why}. Use another number."
    try:
        ledger.expect(item_id, said["quantity"], said["due_on"], order)
    except ledger.OutOfStep as why:
        return str(why)
    return ""


@require_POST
@needs("stock.receive")
def give_up(request: BadgeRequest, delivery_id: int) -> HttpResponse:
    """Nothing more of this delivery comes."""
    row = next((one for one in shelf.deliveries() if one.id == delivery_id), None)
    if row is None:
        raise Http404
    why = request.POST.get("words", "").strip() or request.POST.get("why", "")
    fault = _give_up(row, why)
    if fault:
        messages.error(request, fault)
    else:
        messages.success(request, f"{row.left} of {row.key} are not counted on any more.")
    return redirect("kitting:deliveries")


def _give_up(row: shelf.DeliveryRow, why: str) -> str:
    """Give it up; why that could not be, or nothing."""
    if not row.left:
        return f"Nothing more of {row.order or row.key} is to come. Nothing more to do."
    try:
        ledger.give_up_delivery(row.id, why)
    except ledger.OutOfStep as told:
        return str(told)
    return ""
