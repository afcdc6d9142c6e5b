"""What a lead settles about what a guitar is built of, and how long it waits."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.catalogue import book
from shop.craft.when import span_words
from shop.craft.words import THIN, listed, several
from shop.desk.matters.matter import Matter, taps
from shop.desk.matters.revised import changes
from shop.floor import board
from shop.floor.board import State
from shop.floor.door import (
    NeckNamed,
    PairBroken,
    Return,
    RevisionMoved,
    Scrapped,
    WaitLengthened,
)

HOURS: Final = (1, 2, 4, 12, 24, 48, 96)


class Pair(Matter):
    title = "Break the pair"
    act = "Break the pair"
    for_good = True
    reasons = (
        "The neck is twisted or cracked",
        "The rod does nothing",
        "The heel does not fill the pocket",
    )

    @classmethod
    def open_for(cls, now: State) -> bool:
        return now.neck is not None and _in_the_making(now)

    def ask(self) -> None:
        fates = [("scrap", _("to scrap")), ("store", _("back to the store"))]
        self.fields["fate"] = taps(_("{neck} goes").format(neck=self.now.neck), fates)

    def will(self) -> list[str]:
        now = self.now
        goes = {
            "scrap": f"{now.neck} parts from {now.serial} and is scrap.",
            "store": f"{now.neck} parts from {now.serial} and goes back to the store, under a "
            "tag of its own.",
        }
        again = board.undone_by_parting(now)
        return [
            goes[self.cleaned_data["fate"]],
            f"Done again with another neck: {listed(again)}."
            if again
            else "Nothing that is done so far hangs on the neck.",
            f"{now.serial} waits until you name another neck.",
        ]

    def deed(self) -> PairBroken:
        return PairBroken(self.now.id, self.cleaned_data["fate"])

    def said(self) -> str:
        return f"{self.now.neck} is off {self.now.serial}."


class Neck(Matter):
    title = "Name its new neck"
    act = "It gets this neck"
    reasons = (
        "Its heel covers the pocket as it is",
        "The pocket is cut again for it",
        "The body has no pocket yet",
    )

    @classmethod
    def open_for(cls, now: State) -> bool:
        return now.neck is None and not now.ended

    def ask(self) -> None:
        key = self.now.sheet.spec.key
        necks = [one for one in board.waiting_parts()["necks"] if one["spec__key"] == key]
        choices = [
            (one["serial"], f"{one['serial']}, came {self.when(one['arrived_at'])}")
            for one in necks
        ]
        self.fields["neck"] = taps(_("Necks made as {key} in store").format(key=key), choices)
        self.waiting = len(choices)

    def told(self) -> list[str]:
        if self.waiting:
            return []
        return [f"No neck made as {self.now.sheet.spec.key} is in store. Book one in first."]

    def deed(self) -> NeckNamed:
        return NeckNamed(self.now.id, self.cleaned_data["neck"])

    def said(self) -> str:
        return f"{self.cleaned_data['neck']} is the neck of {self.now.serial}."


class Longer(Matter):
    title = "Lengthen a wait"
    act = "Make it longer"
    reasons = ("The room was cold or damp", "Thick glue line or fill", "To be on the safe side")

    @classmethod
    def open_for(cls, now: State) -> bool:
        return not now.ended and now.finished_at is None and bool(board.clocks_of(now))

    def ask(self) -> None:
        clocks = [(one.name, _clock_words(one)) for one in board.clocks_of(self.now)]
        self.fields["clock"] = taps(_("Which wait"), clocks)
        hours = [(str(one), f"{one}{THIN}h") for one in HOURS]
        self.fields["hours"] = taps(_("Longer by"), hours, required=False)
        self.fields["other_hours"] = forms.IntegerField(
            label=_("Or by so many hours"),
            required=False,
            widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
            error_messages={"invalid": _("Give whole hours, as 36.")},
        )

    def told(self) -> list[str]:
        """From how many hours on the second look is taken again."""
        said: list[str] = []
        for one in board.clocks_of(self.now):
            hours, again = board.again_if_longer(self.now, one.name)
            if again:
                said += [f"{one.name} longer by {hours}{THIN}h or more:", *again]
        return said

    def clean(self) -> dict[str, Any]:
        known = super().clean()
        given = [known.get("hours"), known.get("other_hours")]
        if all(one is not None and one != "" for one in given):
            self.add_error("other_hours", _("Hours are given twice. Empty this, or tap none."))
        elif "other_hours" not in self.errors and given[1] is None and not given[0]:
            self.add_error("hours", _("Longer by: tap one, or give the hours."))
        return known

    @property
    def hours(self) -> int:
        known = self.cleaned_data
        return int(known["hours"] or known["other_hours"])

    def deed(self) -> WaitLengthened:
        return WaitLengthened(self.now.id, self.cleaned_data["clock"], self.hours)

    def said(self) -> str:
        clock = self.cleaned_data["clock"]
        return f"{clock} of {self.now.serial} is {self.hours}{THIN}h longer."


def _clock_words(one: Any) -> str:
    added = f", {span_words(one.added)} longer by now" if one.added else ""
    return f"{one.name}: {span_words(one.wait)}{added}"


class Revision(Matter):
    title = "Move it to the open revision"
    act = "Move it"
    for_good = True
    reasons = ("The old revision was wrong", "The buyer asked for it", "The old parts ran out")

    @classmethod
    def open_for(cls, now: State) -> bool:
        return _in_the_making(now) and _open_revision(now) is not None

    def told(self) -> list[str]:
        return [f"It is built to {self.now.sheet.spec.name} now.", *self._changes()]

    def _changes(self) -> Iterator[str]:
        row = _open_revision(self.now)
        assert row is not None  # open for nothing else
        after = book.sheet(row["id"], row["version"])
        yield from changes(self.now.sheet, after)

    def will(self) -> list[str]:
        row = _open_revision(self.now)
        assert row is not None  # open for nothing else
        name = f"{row['spec__key']} revision {row['number']}"
        return [
            f"{self.now.serial} is built to {name} from now on.",
            *self._changes(),
            "What is done stays done. What was measured is judged by the new revision at once.",
        ]

    def deed(self) -> RevisionMoved:
        row = _open_revision(self.now)
        assert row is not None  # open for nothing else
        return RevisionMoved(self.now.id, row["id"])

    def said(self) -> str:
        return f"{self.now.serial} is built to the open revision."


def _open_revision(now: State) -> dict[str, Any] | None:
    """The open revision of its spec, where that is another than its own."""
    key = now.sheet.spec.key
    row = next((one for one in book.open_revisions() if one["spec__key"] == key), None)
    return row if row is not None and row["id"] != now.revision_id else None


class Scrap(Matter):
    title = "Scrap it"
    act = "Scrap it"
    for_good = True
    reasons = ("Body cracked through", "Body and neck past repair", "Cheaper to build anew")

    @classmethod
    def open_for(cls, now: State) -> bool:
        return not now.ended and now.finished_at is None

    def ask(self) -> None:
        self.parts = board.comes_off(self.now)
        self.waits = self.now.neck is not None and not board.paired(self.now)
        if self.waits:
            fates = [("store", _("back to the store")), ("scrap", _("to scrap"))]
            asked = _("{neck} was not paired yet. It goes").format(neck=self.now.neck)
            self.fields["neck"] = taps(asked, fates, initial="store")
        for one in self.parts:
            key = one.article.key
            counts = [(str(n), str(n)) for n in range(one.quantity, -1, -1)]
            self.fields[f"off_{one.item_id}"] = forms.ChoiceField(
                label=_("{key} {name}: so many come off").format(key=key, name=one.article.name),
                choices=counts,
                initial=str(one.quantity),
                error_messages={"required": _("{key}: choose how many come off.").format(key=key)},
            )
            self.fields[f"whole_{one.item_id}"] = forms.BooleanField(
                label=_("{key} whole: nothing missing, nothing broken").format(key=key),
                required=False,
                initial=True,
            )

    def told(self) -> list[str]:
        if not self.parts:
            return ["Nothing comes off it: its tray is not closed, so all is on the shelf still."]
        return ["Say what comes off it. What is not whole is told and not kept."]

    @property
    def returns(self) -> tuple[Return, ...]:
        known = self.cleaned_data
        return tuple(
            Return(one.item_id, count, known[f"whole_{one.item_id}"])
            for one in self.parts
            if (count := int(known[f"off_{one.item_id}"]))
        )

    @property
    def _stays(self) -> bool:
        """Whether its neck goes back to the store."""
        return self.waits and self.cleaned_data["neck"] == "store"

    def will(self) -> list[str]:
        now = self.now
        scrap = (
            f"{now.serial} and its neck {now.neck} are scrap: nothing more is done, and the tags "
            "are void for ever."
            if now.neck and not self._stays
            else f"{now.serial} is scrap: nothing more is done, and the tags are void for ever."
        )
        keys = {one.item_id: one.article.key for one in self.parts}
        whole, broken = (
            [f"{one.quantity} × {keys[one.item_id]}" for one in self.returns if one.whole is yes]
            for yes in (True, False)
        )
        return [
            scrap,
            *(
                [f"{now.neck} goes back to the store, its tag on: another body can get it."]
                if self._stays
                else []
            ),
            f"Held for you to look at, as lot off {now.serial}: {listed(whole)}."
            if whole
            else "Nothing that comes off is kept.",
            *([f"Not whole, so not kept: {listed(broken)}."] if broken else []),
            *(
                [f"What lies in its tray {now.tray_code} goes back to its bins."]
                if now.tray_state != "closed"
                else []
            ),
        ]

    def deed(self) -> Scrapped:
        return Scrapped(self.now.id, self.returns, neck_too=self.waits and not self._stays)

    def said(self) -> str:
        count = sum(one.quantity for one in self.returns if one.whole)
        kept = f" {several(count, 'piece')} held as lot off {self.now.serial}." if count else ""
        return f"{self.now.serial} is scrap.{kept}"


def _in_the_making(now: State) -> bool:
    """What it is built of may still change: it is neither scrap nor finished nor released."""
    return not now.ended and now.finished_at is None and board.as_built(now.id) is None
