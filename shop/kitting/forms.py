"""What the clerk says at a bin."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from django import forms

from shop.catalogue import book
from shop.stock.ledger import PutIn

MOST_MACHINES = 14


class PickForm(forms.Form):
    """One stop at a bin. ``share`` is "tray:line", once for each tray that shares it."""

    said = forms.ChoiceField(choices=[("taken", "Taken"), ("short", "Short")])
    item = forms.CharField(max_length=12, required=False)
    left = forms.IntegerField(min_value=0, max_value=MOST_MACHINES, required=False)
    right = forms.IntegerField(min_value=0, max_value=MOST_MACHINES, required=False)

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or {}
        self.shares: list[tuple[int, int]] = []
        for share in self.data.getlist("share"):
            tray, _, line = share.partition(":")
            if not (tray.isdigit() and line.isdigit()):
                raise forms.ValidationError("This page is too old. Open the bin again.")
            self.shares.append((int(tray), int(line)))
        if not self.shares:
            raise forms.ValidationError("No tray is chosen for this bin.")
        key = known.get("item", "").strip().upper()
        self.item_id = book.item_ids([key]).get(key)
        if known.get("said") == "taken" and self.item_id is None:
            raise forms.ValidationError(f"There is no item {key or 'without a name'}.")
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
