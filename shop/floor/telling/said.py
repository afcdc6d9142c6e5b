"""What a teller says of a row, and the names it says it with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from django.utils.timezone import localtime

from shop.craft.code import pretty
from shop.craft.hardware import SpecFacts
from shop.floor.models import Entry

Mark = Literal["clear", "stop", "warn", "wait"]


@dataclass(frozen=True, slots=True)
class Names:
    """What the codes in an instrument's rows go by: operations, stations, the serials of the
    parts that tags hung on. ``spec`` names the places that are measured."""

    operations: Mapping[str, str] = field(default_factory=dict)
    stations: Mapping[str, str] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)
    tray: str = ""  # the code on its own tray
    spec: SpecFacts | None = None

    def operation(self, code: str) -> str:
        return f"{code} {self.operations[code]}" if code in self.operations else code

    def station(self, code: str) -> str:
        return self.stations.get(code, code)

    def part(self, code: str) -> str:
        """The part a tag hangs on, or hung on; the tag itself where nothing is known of it."""
        return self.parts.get(code, f"with tag {pretty(code)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one kind of deed says of itself, its verb in both forms: "recorded", "record".

    ``object`` follows the verb, ``where`` says that the station follows that, ``because``
    comes last behind a colon. ``tried`` stands in the place of all that where it was refused
    and the verb would not tell it.
    """

    did: str
    do: str
    object: str = ""
    where: bool = True
    because: str = ""
    tried: str = ""
    details: tuple[tuple[str, str], ...] = ()
    mark: Mark = "clear"
    says_reason: bool = False  # ``because`` is the reason already


Teller = Callable[[Entry, Names], Said]


def clock(one: datetime, beside: datetime) -> str:
    """A moment beside another one: the hour alone where the day is the same."""
    local = localtime(one)
    return f"{local:%H:%M}" if local.date() == localtime(beside).date() else stamp(local)


def stamp(one: datetime) -> str:
    """A moment on the shop's clock, as it stays readable for years."""
    return f"{localtime(one):%Y-%m-%d %H:%M}"


def moment(kept: str) -> datetime:
    """A moment as a row keeps it."""
    return datetime.fromisoformat(kept)
