"""What the clerk says at a bin."""

from __future__ import annotations

from collections import defaultdict
from typing import Any, cast

from django import forms
from django.http import QueryDict

from shop.catalogue import book
from shop.stock.ledger import PutIn

MOST_MACHINES = 14
COUNT = f"A well holds 0 to {MOST_MACHINES} machines. Count left and right, seen from the front."
WELLS = ("left", "right")


def well() -> forms.IntegerField:
    """A well of machines as counted; bins of other things ask for none."""
    told = dict.fromkeys(("invalid", "min_value", "max_value"), COUNT)
    return forms.IntegerField(
        min_value=0, max_value=MOST_MACHINES, required=False, error_messages=told
    )


class PickForm(forms.Form):
    """One stop at a bin. ``share`` is "tray:line", once for each tray that shares it."""

    said = forms.ChoiceField(choices=[("taken", "Taken"), ("short", "Short")])
    item = forms.CharField(max_length=12, required=False)
    left = well()
    right = well()

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or {}
        self.shares: list[tuple[int, int]] = []
        sent = cast("QueryDict", self.data)  # bound to a request's fields, always
        for share in sent.getlist("share"):
            tray, _, line = share.partition(":")
            if not (tray.isdecimal() and line.isdecimal()):
                raise forms.ValidationError("This page is too old. Open the bin again.")
            self.shares.append((int(tray), int(line)))
        if not self.shares:
            raise forms.ValidationError("No tray is chosen for this bin.")
        key = known.get("item", "").strip().upper()
        self.item_id = book.item_ids([key]).get(key)
        if known.get("said") == "taken" and self.item_id is None:
            raise forms.ValidationError(f"There is no item {key or 'without a name'}.")
        # An empty well would pass for a right one: the set's own figures would stand in for it.
        uncounted = any(name in self.data and known.get(name) is None for name in WELLS)
        if known.get("said") == "taken" and uncounted and not self.errors:
            raise forms.ValidationError(COUNT)
        return known

    def first_fault(self) -> str:
        return next(str(fault) for faults in self.errors.values() for fault in faults)

    def by_tray(self) -> dict[int, list[PutIn]]:
        taken = self.cleaned_data["said"] == "taken"
        picks: dict[int, list[PutIn]] = defaultdict(list)
        for tray_id, line_id in self.shares:
            picks[tray_id].append(
                PutIn(
                    line_id,
                    self.item_id if taken else None,
                    self.cleaned_data["left"] if taken else None,
                    self.cleaned_data["right"] if taken else None,
                )
            )
        return picks
