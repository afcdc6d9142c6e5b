"""What a lead settles about records: frozen and freed, in doubt, struck, remarked upon."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.craft.start import Asking, Person
from shop.craft.words import listed
from shop.desk.matters.matter import WHY, Matter, moment, taps
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import Freed, Remarked, StepConfirmed, StepStruck, TagsMixed

TAPS: Final = 8  # records offered to be tapped
LATEST: Final = 60  # rows of a journal they are looked for in


class Free(Matter):
    title = "Free it"
    act = "Free it"
    reasons = (
        "Looked it over: nothing is wrong with it",
        "Both block marks read: it is itself",
        "The right neck is back beside it",
    )

    @classmethod
    def open_for(cls, now: State) -> bool:
        return now.frozen is not None

    def told(self) -> list[str]:
        one = self.now.frozen
        assert one is not None  # open for nothing else
        return [f"Frozen {self.when(one.since)} by {one.by}: {one.words}"]

    def deed(self) -> Freed:
        return Freed(self.now.id)

    def said(self) -> str:
        return f"{self.now.serial} is free: work on it goes on."


class OfRecord(Matter):
    """Something about one step that was recorded."""

    def ask(self) -> None:
        choices = [(str(one.seq), self._line(one)) for one in self.records()]
        self.fields["row"] = taps(_("Which record"), choices)

    def records(self) -> Sequence[Any]:
        """The steps to choose from: ``seq``, ``operation``, ``by``, ``at``, ``doubt``."""
        return board.doubtful(self.now.id)

    def _line(self, one: Any) -> str:
        doubt = f": {one.doubt}" if one.doubt else ""
        return f"{one.operation}, {self.when(one.at)} by {one.by}{doubt}"

    @property
    def seq(self) -> int:
        return int(self.cleaned_data["row"])

    @property
    def record(self) -> Any:
        return next(one for one in self.records() if one.seq == self.seq)


class Confirm(OfRecord):
    title = "Confirm a record"
    act = "It was done as recorded"
    reasons = (
        "The work is there to see",
        "Measured again: it is so",
        "Whoever did it says so, and it fits",
    )

    @classmethod
    def open_for(cls, now: State) -> bool:
        return not now.ended and any(one.doubt for one in now.done)

    def deed(self) -> StepConfirmed:
        return StepConfirmed(self.now.id, self.seq)

    def said(self) -> str:
        return f"{self.record.operation} of {self.now.serial} is confirmed."


class Strike(OfRecord):
    title = "Strike a record"
    act = "Strike it"
    for_good = True
    reasons = (
        "It was not done",
        "It was done on another guitar",
        "It must be done again",
    )

    @classmethod
    def open_for(cls, now: State) -> bool:
        return not now.ended and bool(now.done)

    def records(self) -> Sequence[Any]:
        """All that counts, what is in doubt first and then the newest."""
        return sorted(self.now.done, key=lambda one: (not one.doubt, -one.seq))

    def will(self) -> list[str]:
        one = self.record
        return [
            f"{one.operation} of {self.now.serial} counts no more; the history keeps it as struck.",
            f"{one.operation} is open again, and what it measured is measured again.",
        ]

    def deed(self) -> StepStruck:
        return StepStruck(self.now.id, self.seq)

    def said(self) -> str:
        return f"{self.record.operation} of {self.now.serial} is struck and open again."


class Mixed(Matter):
    title = "The tags were mixed up"
    act = "Freeze both"
    for_good = True
    reasons = (
        "The block mark is another than the tag says",
        "The tag came off and was hung again",
    )

    def ask(self) -> None:
        others = [one for one in board.all_open() if one.id != self.now.id]
        self.others = {one.serial: one for one in others}
        choices = [(one.serial, f"{one.serial} {one.sheet.spec.key}") for one in others]
        other = forms.ChoiceField(
            label=_("The other guitar"), choices=[("", _("Choose it by its serial")), *choices]
        )
        other.error_messages |= {
            "required": _("Choose the other guitar."),
            "invalid_choice": _("%(value)s is not on the floor any more. Choose one of the list."),
        }
        self.fields["other"] = other
        self.fields["since"] = taps(
            _("Both tags surely hung right until"), self._moments(), required=False
        )
        self.fields["since_at"] = moment(_("Or until another moment"))

    def _moments(self) -> list[tuple[str, str]]:
        rows = board.journal(self.now.id, LATEST)
        steps = [one for one in rows if one["kind"] == "step" and one["outcome"] == "recorded"]
        return [
            (
                one["at"].isoformat(),
                f"just before {one['data']['operation']} was recorded, {self.when(one['at'])}",
            )
            for one in steps[:TAPS]
        ]

    def clean(self) -> dict[str, Any]:
        known = super().clean()
        if not known.get("since") and not known.get("since_at") and "since_at" not in self.errors:
            self.add_error("since", _("Tap until when both hung right, or give another moment."))
        if known.get("since") and known.get("since_at"):
            self.add_error("since_at", _("Two moments are given. Empty one of them."))
        return known

    @property
    def since(self) -> datetime:
        known = self.cleaned_data
        given: datetime | None = known.get("since_at")
        return given or datetime.fromisoformat(known["since"])

    @property
    def other(self) -> State:
        return self.others[self.cleaned_data["other"]]

    def will(self) -> list[str]:
        return [
            f"{self.now.serial} and {self.other.serial} are frozen: read both block marks.",
            *(self._doubts(one) for one in (self.now, self.other)),
            "Their trays are scanned again, and what no record stands for is measured again.",
        ]

    def _doubts(self, one: State) -> str:
        since = self.when(self.since)
        codes = board.in_doubt_since(one, self.since)
        if not codes:
            return f"{one.serial}: nothing was recorded on it since {since}."
        return f"{one.serial}: {listed(codes)} since {since} to be confirmed or struck."

    def deed(self) -> TagsMixed:
        return TagsMixed(self.now.id, self.other.id, self.since)

    def said(self) -> str:
        return f"{self.now.serial} and {self.other.serial} are frozen."


class Remark(Matter):
    title = "Add a remark to a record"
    act = "Add the remark"

    @classmethod
    def open_for(cls, now: State) -> bool:
        return now.seq > 0

    def ask(self) -> None:
        told = board.history(self.now, Asking(Person(""), "", self.at)).rows
        rows = [(str(one.seq), f"{one.words} {self.when(one.at)}") for one in told]
        self.fields["row"] = taps(_("Which record"), rows[:TAPS], initial=self.initial.get("row"))
        if (asked := self.data.get("row") or self.initial.get("row")) in dict(rows[TAPS:]):
            field = self.fields["row"]
            assert isinstance(field, forms.ChoiceField)  # made so above
            field.choices = [*rows[:TAPS], (asked, dict(rows)[asked])]
        self.fields["words"] = forms.CharField(
            label=_("What it should tell"),
            max_length=WHY,
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
            error_messages={
                "required": _("Say what it should tell."),
                "max_length": _("%(show_value)s characters; %(limit_value)s have room."),
            },
        )

    def told(self) -> list[str]:
        return ["The record stays as it is. Your words stand beside it."]

    def deed(self) -> Remarked:
        known = self.cleaned_data
        return Remarked(self.now.id, int(known["row"]), known["words"])

    def said(self) -> str:
        return f"Your remark stands beside row {self.cleaned_data['row']} of {self.now.serial}."
