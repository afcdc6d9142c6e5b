"""One thing a lead settles: what is asked for it, why, and what will follow."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar, Final

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from shop.craft.when import when_words
from shop.floor.board import State

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

WHY: Final = 200  # characters of a reason or a remark
DAY_AND_TIME: Final = _("Give day and time, as 2031-03-14 09:30.")


def moment(label: _StrOrPromise) -> forms.DateTimeField:
    """A moment by the clock, where no tap says it."""
    return forms.DateTimeField(
        label=label,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        required=False,
        error_messages={"invalid": DAY_AND_TIME},
    )


def taps(
    label: _StrOrPromise, choices: Sequence[tuple[str, _StrOrPromise]], **more: Any
) -> forms.ChoiceField:
    """One of a few, each its own tap."""
    more.setdefault("error_messages", {}).setdefault(
        "required", format_lazy(_("{label}: tap one."), label=label)
    )
    more["error_messages"].setdefault(
        "invalid_choice", _("What was tapped is not to choose any more. Tap one of the list.")
    )
    return forms.ChoiceField(label=label, choices=choices, widget=forms.RadioSelect, **more)


class Matter(forms.Form):
    """One thing to settle about an instrument, and why.

    ``for_good`` matters are asked once more on a page of their own, which says what will
    happen (``will``).
    """

    title: ClassVar[str]
    act: ClassVar[str]  # on the button
    reasons: ClassVar[tuple[str, ...]] = ()
    for_good: ClassVar[bool] = False

    def __init__(self, now: State, at: datetime, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.now, self.at = now, at
        self.ask()
        if self.reasons:
            choices = [(one, _(one)) for one in self.reasons]
            self.fields["why"] = taps(_("Why"), choices, required=False)
            self.fields["own"] = forms.CharField(
                label=_("Or another reason"),
                max_length=WHY,
                required=False,
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )

    def ask(self) -> None:
        """Add what is asked beside the reason."""

    @classmethod
    def open_for(cls, now: State) -> bool:
        """Whether there is anything of this kind to settle about the instrument."""
        return not now.ended

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or {}
        if self.reasons and not (known.get("why") or known.get("own")):
            self.add_error("why", _("Tap why, or write another reason."))
        return known

    @property
    def reason(self) -> str:
        """The reason as the journal keeps it: what was tapped, and what was written."""
        known = self.cleaned_data
        said = [one for name in ("why", "own") if (one := known.get(name, ""))]
        return ": ".join(said)[:WHY]

    def told(self) -> list[str]:
        """What stands now, for whoever is to decide."""
        return []

    def will(self) -> list[str]:
        """What will happen, sentence by sentence, once the form is filled."""
        return []

    @abstractmethod
    def deed(self) -> Any:
        """The deed of what was filled in."""

    @abstractmethod
    def said(self) -> str:
        """That it is done."""

    def when(self, moment: datetime) -> str:
        return when_words(moment, self.at)
