"""A drawing as it was written, made fit for our pages.

Out go style, type, what it says about itself and every id that nothing asks for; inks become
classes with the colour of the text behind them, for a page without our stylesheet.
"""

from __future__ import annotations

import re
from typing import Final, Literal
from xml.etree import ElementTree as Xml

Ink = Literal["ink", "faint", "stop", "warn", "note", "clear"]

SVG: Final = "http://www.w3.org/2000/svg"
HREF: Final = "{http://www.w3.org/1999/xlink}href"
GROUP: Final = f"{{{SVG}}}g"
PAPER: Final = "paper"
# Colours that stand for inks until the drawing is done.
INKS: Final[dict[str, str]] = {
    name: f"#0{number}0{number}0{number}"
    for number, name in enumerate(("ink", "faint", "stop", "warn", "note", "clear", PAPER), 1)
}
NAMED: Final = {colour: name for name, colour in INKS.items()}
# What is drawn by; all else is the page's own.
KEPT: Final = frozenset(
    {
        "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap",
        "stroke-linejoin", "opacity", "fill-opacity", "text-anchor", "font-size",
        "d", "x", "y", "width", "height", "transform",
    }
)  # fmt: skip
SHORTENED: Final = re.compile(r"-?\d+\.\d+")


def plain(written: bytes, name: str, title: str, view: str) -> str:
    """The SVG without style. ``name`` goes before its ids, ``title`` is read out in its
    place, ``view`` is its box."""
    root = Xml.fromstring(written)  # noqa: S314 written a moment ago, by us
    named = set(re.findall(r"#(\w+)[)\"]", written.decode()))
    for part in list(root.iter()):
        for child in list(part):
            if child.tag in {f"{{{SVG}}}style", f"{{{SVG}}}metadata"}:
                part.remove(child)
    for part in root.iter():
        _plainly(part, name, named)
    _flat(root)
    root.attrib.clear()
    root.set("class", "plot")
    root.set("viewBox", view)
    root.set("role", "img")
    root.set("aria-labelledby", f"{name}-title")
    heading = Xml.Element(f"{{{SVG}}}title", {"id": f"{name}-title"})
    heading.text = title
    root.insert(0, heading)
    Xml.register_namespace("", SVG)
    return Xml.tostring(root, encoding="unicode")


def _plainly(part: Xml.Element, name: str, named: set[str]) -> None:
    """One element: what it is drawn by as attributes, its inks as classes."""
    found = _styled(part)
    part.attrib.clear()
    classes = []
    for key, value in found.items():
        if key in {"fill", "stroke"} and value in NAMED:
            ink = NAMED[value]
            classes.append(f"{'fill' if key == 'fill' else 'line'}-{ink}")
            part.set(key, "none" if ink == PAPER else "currentColor")
        elif key in KEPT and not value.startswith("rotate(-0 "):
            part.set(key, " ".join(SHORTENED.sub(_short, value).split()).removesuffix("px"))
    if (own := found.get("id")) in named:
        part.set("id", f"{name}-{own}")
    if HREF in found:
        part.set("href", f"#{name}-{found[HREF][1:]}")
    if "clip-path" in found:
        part.set("clip-path", found["clip-path"].replace("(#", f"(#{name}-"))
    if classes:
        part.set("class", " ".join(classes))
    part.text = part.text if part.text and part.text.strip() else None
    part.tail = None


def _styled(part: Xml.Element) -> dict[str, str]:
    """The attributes of an element with those of its style among them."""
    found = dict(part.attrib)
    for one in found.pop("style", "").split(";"):
        key, _, value = one.partition(":")
        found[key.strip()] = value.strip()
    if size := re.search(r"([\d.]+)px", found.get("font", "")):
        found["font-size"] = size[1]
    return found


def _flat(part: Xml.Element) -> None:
    """Take groups away that group nothing, and what is drawn without any ink."""
    kept: list[Xml.Element] = []
    for child in list(part):
        _flat(child)
        if child.tag == GROUP and not child.attrib:
            kept.extend(child)
        elif _seen(child):
            kept.append(child)
    part[:] = kept


def _seen(part: Xml.Element) -> bool:
    """Whether an element leaves anything on the page."""
    bare = part.attrib.get("fill") == "none" and not {"stroke", "class"} & set(part.attrib)
    return not bare and bool(len(part) or part.attrib or part.text)


def _short(number: re.Match[str]) -> str:
    return f"{float(number[0]):.2f}".rstrip("0").rstrip(".")
