"""What somebody wants on paper: which form, and of what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import QueryDict

from shop.paper import choices, press
from shop.paper.choices import Narrowed
from shop.paper.forms import FORMS, Form


@dataclass(frozen=True, slots=True)
class Asked:
    """``form`` is the key as it came, ``names`` are as they are written here."""

    form: str
    names: tuple[str, ...]

    @classmethod
    def of(cls, sent: QueryDict, now: datetime) -> Asked:
        """From an address or a form: ``serial`` once for each, ``names`` with one a line for
        many, or ``all`` of a narrowed list."""
        form = sent.get("form", "")
        names = [*sent.getlist("serial"), *sent.get("names", "").splitlines()]
        if "all" in sent and form in FORMS:
            narrowed = Narrowed.of(sent)
            names += [row.name for row in choices.found(FORMS[form], narrowed, now).rows]
        return cls(form, tuple(press.cleaned(names)))

    @property
    def known(self) -> Form | None:
        return FORMS.get(self.form)

    @property
    def lines(self) -> str:
        """The names as one field of a form carries them."""
        return "\n".join(self.names)

    @property
    def first(self) -> tuple[str, ...]:
        """As many names as a heading bears."""
        return self.names[:3]

    @property
    def more(self) -> int:
        return len(self.names) - len(self.first)
