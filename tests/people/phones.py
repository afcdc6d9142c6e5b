"""A phone in somebody's hand, the clock on the wall, and the forms on a page."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from html.parser import HTMLParser
from typing import Any

from django.test import Client

PIN = "4711"  # invented


@dataclass
class Clock:
    """A clock that a test moves."""

    now: datetime

    def pass_s(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


def enter(phone: Client, badge: str, pin: str = PIN, **more: str) -> Any:
    return phone.post("/sign-in/", {"badge": badge, "pin": pin, **more})


@dataclass
class Form:
    action: str
    fields: list[tuple[str, str]] = field(default_factory=list)

    def values(self, name: str) -> list[str]:
        return [value for one, value in self.fields if one == name]


class Forms(HTMLParser):
    """The forms of a page with the fields they would send unasked."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[Form] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = dict(attrs)
        if tag == "form":
            self.found.append(Form(has.get("action") or ""))
        if tag == "input" and has.get("name") and has.get("type") == "hidden" and self.found:
            self.found[-1].fields.append((has["name"] or "", has.get("value") or ""))


def form_to(answer: Any, action: str) -> Form:
    """The page's form that goes to an address."""
    forms = Forms(answer.content.decode()).found
    return next(one for one in forms if one.action == action)
