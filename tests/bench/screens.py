"""A phone somebody has signed in on, and what its screen says."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree as ET

from django.test import Client

from shop.floor import board
from shop.floor.demo.loading import pin_of
from tests.people.phones import enter

# What ends without a closing tag, as the HTML Living Standard lists it (from memory).
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "wbr"}
INLINE = {"b", "span"}  # no space around them
DRAWN = {"svg"}  # letters in a drawing are no part of the sentence it stands in


def signed_in(badge: str, station: str = "") -> Client:
    """A phone of this badge; at the badge's own station, unless another is tapped."""
    phone = Client()
    assert enter(phone, badge, pin_of(badge)).status_code == 302
    if station:
        phone.post("/station/", {"station": station})
    return phone


def tag(serial: str, part: str = "body") -> str:
    """The code on the live tag of an instrument's body or neck."""
    return board.tags_of([serial])[serial][part]


def key() -> str:
    """The key a form would carry."""
    return str(uuid.uuid4())


class _Tree(HTMLParser):
    """HTML as a tree. What is closed in the wrong place fails the test that looks at it."""

    def __init__(self) -> None:
        super().__init__()
        self.root = ET.Element("root")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = ET.SubElement(self.open[-1], tag, {name: value or "" for name, value in attrs})
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        ET.SubElement(self.open[-1], tag, {name: value or "" for name, value in attrs})

    def handle_endtag(self, tag: str) -> None:
        opened = self.open.pop()
        assert opened.tag == tag, f"<{opened.tag}> is closed by </{tag}>"
        if tag == "template" or "data-network" in opened.attrib:
            opened.clear()  # nobody sees it until a script brings it onto the page

    def handle_data(self, data: str) -> None:
        last = self.open[-1]
        if len(last):
            last[-1].tail = (last[-1].tail or "") + data
        else:
            last.text = (last.text or "") + data


@dataclass(frozen=True)
class Screen:
    """One answer, as read by whoever looks at it."""

    answer: Any
    root: ET.Element

    @property
    def words(self) -> str:
        """All that is to read, in reading order."""
        main = self.root.find(".//main")
        return said(self.root if main is None else main)

    @property
    def heading(self) -> str:
        return said(self.one(".//h1"))

    @property
    def buttons(self) -> list[str]:
        """What can be tapped on the page itself: buttons, and links drawn as buttons."""
        return [
            said(one)
            for one in self.root.iter()
            if one.tag == "button" or (one.tag == "a" and "button" in classes(one))
        ]

    @property
    def links(self) -> dict[str, str]:
        """The address behind each link, by its words."""
        return {said(one): one.get("href", "") for one in self.root.iter("a")}

    def one(self, path: str) -> ET.Element:
        """The first element at this path."""
        found = self.root.find(path)
        assert found is not None, f"nothing at {path} in: {self.words}"
        return found

    def of_class(self, name: str) -> list[str]:
        """The words of every element of this class."""
        return [said(one) for one in self.root.iter() if name in classes(one)]

    def form(self, action: str) -> dict[str, str]:
        """The hidden fields of the form that goes to this address."""
        form = self.one(f".//form[@action='{action}']")
        return {
            one.get("name", ""): one.get("value", "")
            for one in form.iter("input")
            if one.get("type") == "hidden" and one.get("name") != "csrfmiddlewaretoken"
        }


def classes(element: ET.Element) -> list[str]:
    return element.get("class", "").split()


def said(element: ET.Element) -> str:
    """The words of an element, one space between them."""
    return " ".join("".join(_texts(element)).split())


def _texts(element: ET.Element) -> Iterator[str]:
    if element.tag in DRAWN:
        return
    apart = "" if element.tag in INLINE else " "
    yield apart + (element.text or "")
    for one in element:
        yield from _texts(one)
        yield one.tail or ""
    yield apart


def seen(answer: Any) -> Screen:
    """Look at an answer that carries a page or a part of one."""
    tree = _Tree()
    tree.feed(answer.content.decode())
    tree.close()
    assert tree.open == [tree.root], f"<{tree.open[-1].tag}> is left open"
    return Screen(answer, tree.root)
