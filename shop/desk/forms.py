"""What the lead writes down."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from django import forms
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

from shop.catalogue import book
from shop.floor import board
from shop.floor.door import Agreed, PartArrived, Released, RoomRead

if TYPE_CHECKING:
    from django.utils.functional import _StrOrPromise

DEVIATIONS = 3
GONE: Final = {
    "body": _("%(value)s is no body to choose any more. Choose one of the list."),
    "neck": _("%(value)s is no neck to choose any more. Choose one of the list."),
    "spec": _("%(value)s is no spec to choose any more. Choose one of the list."),
}


def day() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class ReleaseForm(forms.Form):
    """Body, neck and spec, when and for whom, and what the buyer agreed to."""

    body = forms.ChoiceField(label=_("Body"))
    neck = forms.ChoiceField(label=_("Neck"))
    spec = forms.ChoiceField(label=_("Spec"))
    due_on = forms.DateField(label=_("Due"), widget=day())
    release_on = forms.DateField(label=_("Release to the bench"), widget=day())
    order = forms.CharField(label=_("Order"), max_length=24, required=False)
    destination = forms.CharField(
        label=_("Country it goes to; empty if it stays here"), max_length=40, required=False
    )
    urgent = forms.BooleanField(label=_("Urgent"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parts = board.waiting_parts()
        self.choose(
            "body", [(b["serial"], f"{b['serial']} {b['spec__key']}") for b in parts["bodies"]]
        )
        self.choose(
            "neck", [(n["serial"], f"{n['serial']} {n['spec__key']}") for n in parts["necks"]]
        )
        self.choose("spec", [(r["spec__key"], r["spec__key"]) for r in book.open_revisions()])
        tomorrow = timezone.localdate() + timedelta(days=1)
        self.fields["release_on"].initial = tomorrow
        self.fields["due_on"].initial = tomorrow + timedelta(days=14)
        items = [("", _("nothing")), *((key, f"{key} {name}") for key, name in book.items())]
        for place in range(DEVIATIONS):
            self.fields[f"words_{place}"] = forms.CharField(
                label=_("Departs from the spec"), max_length=200, required=False
            )
            self.fields[f"out_{place}"] = forms.ChoiceField(
                label=_("Leave out"), choices=items, required=False
            )
            self.fields[f"in_{place}"] = forms.ChoiceField(
                label=_("Put in"), choices=items, required=False
            )
            self.fields[f"approved_{place}"] = forms.CharField(
                label=_("Who agreed"), max_length=80, required=False
            )

    def choose(self, name: str, choices: list[tuple[str, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # declared so above
        field.choices = choices
        field.error_messages["invalid_choice"] = GONE[name]

    def deviations(self) -> list[list[forms.BoundField]]:
        return [
            [self[f"{name}_{place}"] for name in ("words", "out", "in", "approved")]
            for place in range(DEVIATIONS)
        ]

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or {}
        for place in range(DEVIATIONS):
            given = [known.get(f"{name}_{place}") for name in ("out", "in", "approved")]
            if any(given) and not known.get(f"words_{place}"):
                self.add_error(f"words_{place}", _("Say in words what departs from the spec."))
            if known.get(f"words_{place}") and not known.get(f"approved_{place}"):
                self.add_error(f"approved_{place}", _("Name who agreed, and on which order."))
            if bool(known.get(f"out_{place}")) != bool(known.get(f"in_{place}")):
                self.add_error(f"in_{place}", _("Name both: the item left out and the one put in."))
        return known

    def deed(self) -> Released:
        known = self.cleaned_data
        return Released(
            body=known["body"],
            neck=known["neck"],
            spec=known["spec"],
            due_on=known["due_on"],
            release_on=known["release_on"],
            order=known["order"],
            destination=known["destination"],
            urgent=known["urgent"],
            agreed=tuple(
                Agreed(
                    known[f"words_{place}"],
                    known[f"approved_{place}"],
                    known[f"out_{place}"],
                    known[f"in_{place}"],
                )
                for place in range(DEVIATIONS)
                if known[f"words_{place}"]
            ),
        )


class ArrivalForm(forms.Form):
    """A body or a neck comes in."""

    part = forms.ChoiceField(
        label=_("What"),
        choices=[("body", _("Body")), ("neck", _("Neck"))],
        widget=forms.RadioSelect,
    )
    serial = forms.RegexField(
        r"^[A-Z]-\d{4,6}$",
        label=_("Mark on the neck block or heel"),
        error_messages={"invalid": _("A letter, a dash and four to six digits, as Q-1043.")},
    )
    spec = forms.ChoiceField(label=_("Made as"))
    coated_on = forms.DateField(
        label=_("Last coat of a body, if known"),
        widget=day(),
        required=False,
        error_messages={"invalid": _("Write the day as 2031-03-14, or leave it empty.")},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["spec"]
        assert isinstance(field, forms.ChoiceField)  # declared so above
        field.choices = [(r["spec__key"], r["spec__key"]) for r in book.open_revisions()]

    def deed(self) -> PartArrived:
        known = self.cleaned_data
        return PartArrived(known["part"], known["serial"], known["spec"], known["coated_on"])


def figure(label: _StrOrPromise, example: str) -> forms.RegexField:
    """A figure read off a dial, with a decimal comma or point."""
    return forms.RegexField(
        r"^[+-]?\d{1,3}([.,]\d)?$",
        label=label,
        strip=True,
        widget=forms.TextInput(
            attrs={"class": "big", "inputmode": "decimal", "autocomplete": "off"}
        ),
        error_messages={
            "required": format_lazy(_("Read it and write it as {example}."), example=example),
            "invalid": format_lazy(
                _("A figure with one decimal at most, as {example}."), example=example
            ),
        },
    )


class RoomForm(forms.Form):
    """What thermometer and hygrometer show."""

    temp_c = figure(_("Temperature, °C"), "21.5")
    rh_pct = figure(_("Humidity, %RH"), "48")

    def deed(self) -> RoomRead:
        known = self.cleaned_data
        return RoomRead(*(Decimal(known[one].replace(",", ".")) for one in ("temp_c", "rh_pct")))
