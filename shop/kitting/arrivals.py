"""Deliveries taken in: which are due, and one counted into its bin."""

from __future__ import annotations

import csv
from datetime import date
from typing import Any, Final
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from shop.catalogue import book
from shop.craft.boxes import open_words
from shop.craft.fit import receiving
from shop.craft.hardware import Article, Family
from shop.craft.spreadsheet import cells
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf
from shop.stock.shelf import BinLabel, Due

MOST: Final = 9999  # pieces of one receipt


@never_cache
@require_safe
@needs("stock.receive")
def arrivals(request: BadgeRequest) -> HttpResponse:
    """What is due to come in, the earliest first; anything else can come in too."""
    shown = {"due": shelf.arriving(), "today": timezone.localdate(), "items": book.items()}
    return render(request, "kitting/arrivals.html", shown)


@never_cache
@require_safe
@needs("stock.receive")
def arrivals_csv(request: BadgeRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="arrivals.csv"'
    sheet = csv.writer(response)
    sheet.writerow(["due", "item", "name", "order", "ordered", "came", "to come"])
    for one in shelf.arriving():
        sheet.writerow(
            cells(one.due_on, one.key, one.name, one.order, one.quantity, one.came, one.left)
        )
    return response


def _told(words: str) -> dict[str, str]:
    return dict.fromkeys(("required", "invalid", "min_value", "max_value"), words)


class ArriveForm(forms.Form):
    """One receipt as the clerk tells it. What is wrong with it is said in whole sentences."""

    quantity = forms.IntegerField(
        min_value=1,
        max_value=MOST,
        error_messages=_told(f"Count what came in: 1 to {MOST} pieces."),
    )
    bin = forms.CharField(max_length=200, required=False)
    other_bin = forms.CharField(max_length=200, required=False)
    lot_code = forms.CharField(max_length=60, required=False)
    plating = forms.CharField(max_length=60, required=False)
    received_on = forms.DateField(
        error_messages=_told("Say the day it came in. Write it as 2034-03-31.")
    )
    best_before = forms.DateField(
        required=False, error_messages=_told("That is no date. Write it as 2034-03-31.")
    )
    counted = forms.BooleanField(required=False)
    after = forms.IntegerField(required=False, min_value=0, error_messages=_told("Open it again."))

    @property
    def bin_code(self) -> str:
        """The bin that was scanned or typed, else the one that was tapped."""
        typed: str = self.cleaned_data["other_bin"]
        label = shelf.read_label(typed) if typed else None
        code: str = label.code if isinstance(label, BinLabel) else typed
        return code or self.cleaned_data["bin"]

    @property
    def faults(self) -> list[str]:
        return [str(fault) for faults in self.errors.values() for fault in faults]


@never_cache
@require_http_methods(["GET", "POST"])
@needs("stock.receive")
def arrive(request: BadgeRequest) -> HttpResponse:
    """One delivery, or an item nobody ordered, counted into a bin; from there to its lot."""
    asked = request.POST if request.method == "POST" else request.GET
    due = _due(asked.get("delivery", ""))
    item_id = due.item_id if due else _item(asked.get("item", ""))
    if item_id is None:
        messages.error(request, "That is not due any more. Choose a delivery or an item.")
        return redirect("kitting:arrivals")
    if request.method == "POST" and "code" in request.POST:
        return _scanned(request, due, asked.get("item", ""))
    article = book.articles([item_id])[item_id]
    form, more = ArriveForm(request.POST or None), False
    faults: list[str] = []
    if request.method == "POST":
        try:
            if form.is_valid():
                return _taken_in(request, form, due, item_id, article)
            faults = form.faults
        except ledger.MoreThanOrdered as why:
            faults, more = [str(why)], True
        except ledger.OutOfStep as why:
            faults = [str(why)]
    shown = _shown(request, form, due, item_id, article)
    return render(request, "kitting/arrive.html", shown | {"faults": faults, "more": more})


def _due(text: str) -> Due | None:
    return next((one for one in shelf.arriving() if str(one.id) == text), None)


def _item(key: str) -> int | None:
    return book.item_ids([key]).get(key)


def _scanned(request: BadgeRequest, due: Due | None, key: str) -> HttpResponse:
    """A bin's label was scanned: the page comes up with this bin chosen."""
    label = shelf.read_label(request.POST["code"])
    asked = {"delivery": str(due.id)} if due else {"item": key}
    if isinstance(label, BinLabel):
        asked["bin"] = label.code
    else:
        messages.error(request, "That is no bin's label. Scan the label on the shelf.")
    return redirect(f"{reverse('kitting:arrive')}?{urlencode(asked)}")


def _taken_in(
    request: BadgeRequest, form: ArriveForm, due: Due | None, item_id: int, article: Article
) -> HttpResponse:
    """Take it in and go on to its lot. Raises ``OutOfStep`` where that cannot be."""
    said = form.cleaned_data
    bin_code, quantity = form.bin_code, said["quantity"]
    lot_id = ledger.arrive(
        bin_code,
        said["lot_code"],
        quantity,
        said["received_on"],
        request.user.pk,
        timezone.now(),
        delivery_id=due.id if due else None,
        item_id=None if due else item_id,
        plating=said["plating"],
        best_before=said["best_before"],
        counted=said["counted"],
        after=said["after"],
    )
    then = " Put it into its bin."
    if receiving.measures(article):
        then = f" Now {open_words(quantity)}. Nobody picks from it until that is measured."
    messages.success(request, f"{quantity} × {article.key} taken in, bin {bin_code}.{then}")
    return redirect("kitting:lot", lot_id)


def _shown(
    request: BadgeRequest, form: ArriveForm, due: Due | None, item_id: int, article: Article
) -> dict[str, Any]:
    sent = request.POST
    bins = list(shelf.bins_of([item_id])[item_id])
    scanned = request.GET.get("bin", "")
    bins = [scanned, *(one for one in bins if one != scanned)] if scanned else bins
    return {
        "due": due,
        "article": article,
        "battery": article.family is Family.BATTERY,
        "bins": bins,
        "bin": sent.get("bin") or (bins[0] if bins else ""),
        "quantity": sent.get("quantity") or (due.left if due else 1),
        "received_on": sent.get("received_on") or _day(timezone.localdate()),
        "sent": sent,
        "after": sent.get("after") or shelf.last_movement(),
        "fields": {"delivery": due.id} if due else {"item": article.key},
        "most": MOST,
    }


def _day(day: date) -> str:
    return day.isoformat()
