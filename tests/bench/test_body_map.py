"""The drawing of an instrument on a screen: zones that can be reached, and are named.

No database: the template alone, as a page includes it.
"""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from django.template import Context, Engine
from django.utils import translation

from shop.craft.inspecting import body_map
from shop.craft.zones import PLACES
from tests.craft.bench import SPECS

ROOT = Path(__file__).resolve().parents[2]
LIBRARIES = {
    "i18n": "django.templatetags.i18n",
    "l10n": "django.templatetags.l10n",
    "saying": "shop.people.templatetags.saying",
}
TEMPLATE = Engine(dirs=[f"{ROOT}/templates"], libraries=LIBRARIES).get_template(
    "drawing/body_map.svg"
)
SVG = "{http://www.w3.org/2000/svg}"
TO = "?view=front&zone="
LEAST_PX = 16
every_spec = pytest.mark.parametrize("key", SPECS)
every_view = pytest.mark.parametrize("name", body_map.VIEWS)


def picture(view: body_map.View, **more: object) -> ElementTree.Element:
    return ElementTree.fromstring(rendered(view, **more))


def rendered(view: body_map.View, **more: object) -> str:
    return TEMPLATE.render(Context({"view": view, **more})).strip()


@every_spec
@every_view
def test_every_zone_is_a_link_of_its_own_with_its_number_and_name(key: str, name: str) -> None:
    view = body_map.draw(SPECS[key], name)
    shown = picture(view, to=TO)
    links = {link.get("href"): link.get("aria-label") for link in shown.iter(f"{SVG}a")}
    assert links == {f"{TO}{one}": PLACES[one] for one in body_map.SHOWN[name]}
    numbers = {text.text for link in shown.iter(f"{SVG}a") for text in link.iter(f"{SVG}text")}
    assert numbers == {str(one) for one in body_map.SHOWN[name]}
    assert shown.get("role") == "group", "links inside an image are not told"


@every_view
def test_what_a_finger_hits_is_the_zone_that_is_drawn_and_its_badge(name: str) -> None:
    view = body_map.draw(SPECS["TARN"], name)
    links = picture(view, to=TO).iter(f"{SVG}a")
    for zone, link in zip(view.zones, links, strict=True):
        [hit] = link.findall(f"{SVG}path[@class='map-hit']")
        assert (hit.get("d"), hit.get("pointer-events")) == (zone.d, "all")
        [number] = link.findall(f"{SVG}g")
        [ring] = number.findall(f"{SVG}circle")
        radius = float(ring.get("r", "0"))
        assert f"scale({view.px})" in number.get("transform", "")
        if zone.badge:
            assert 2 * radius >= body_map.TARGET_PX
            assert link.find(f"{SVG}path[@class='map-leader']") is not None


@every_view
def test_words_and_numbers_are_read_at_arms_length_on_a_phone(name: str) -> None:
    view = body_map.draw(SPECS["VOE"], name)
    for group in picture(view, to=TO).iter():
        for text in group.findall(f"{SVG}text"):
            scaled = text.get("transform") or group.get("transform") or ""
            [scale] = re.findall(r"scale\(([\d.]+)\)", scaled)
            pixels = float(scale) * float(text.get("font-size", "0")) / view.px
            assert pixels >= LEAST_PX


def test_a_picture_without_links_is_one_image_with_its_title() -> None:
    shown = picture(body_map.draw(SPECS["TARN"], "back"))
    assert shown.get("role") == "img"
    assert not list(shown.iter(f"{SVG}a"))
    title = shown.find(f"{SVG}title")
    assert title is not None
    assert title.text == "Back"
    assert title.get("id") == shown.get("aria-labelledby")


def test_a_place_is_marked_by_a_cross_in_a_ring_and_the_title_says_so() -> None:
    view = body_map.draw(SPECS["WOLD"], "front")
    at = body_map.on_page(view, body_map.Place("front", 6, 70, 80))
    assert at == (-70.0, 80.0), "treble is on the left of a left-handed front"
    shown = picture(view, to=TO, mark=at, chosen=6)
    [mark] = shown.findall(f"{SVG}g[@class='map-mark']")
    assert mark.get("transform") == f"translate(-70.0 80.0) scale({view.px})"
    assert len(mark.findall(f"{SVG}circle")) == 2
    assert len(mark.findall(f"{SVG}path")) == 2
    assert shown.findtext(f"{SVG}title") == "Front, the place is marked"
    [current] = [link for link in shown.iter(f"{SVG}a") if link.get("aria-current")]
    assert current.get("aria-label") == PLACES[6]
    assert len(picture(view, to=TO).findall(f"{SVG}g[@class='map-mark']")) == 0


@every_view
def test_the_drawing_carries_no_style_no_script_and_no_colour_of_its_own(name: str) -> None:
    text = rendered(body_map.draw(SPECS["FIRTH"], name), to=TO, mark=(1.5, 2.5), chosen=14)
    assert "style" not in text
    assert "script" not in text
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', text)) <= {"currentColor", "none"}


def test_numbers_are_written_with_a_point_in_a_language_that_writes_commas() -> None:
    view = body_map.draw(SPECS["TARN"], "front")
    with translation.override("es"):
        spanish = rendered(view, mark=(1.5, 2.5))
    assert f'viewBox="{view.box}"' in spanish
    assert "translate(1.5 2.5)" in spanish
    assert not re.search(r"\d,\d", spanish)


def test_every_class_of_the_drawing_has_its_rule() -> None:
    css = (ROOT / "static/bench/body_map.css").read_text()
    used: set[str] = set()
    for name in body_map.VIEWS:
        for key in ("TARN", "VOE"):
            text = rendered(body_map.draw(SPECS[key], name), to=TO, mark=(1, 2), chosen=6)
            used |= {one for found in re.findall(r'class="([^"]*)"', text) for one in found.split()}
    groups = {"map-strokes", "map-dot", "map-badge"}  # parts without a rule
    ruled = {*re.findall(r"\.((?:body-)?map[\w-]*)", css)}
    narrow = {f"body-map-{one}" for one in ("front", "back", "inside")}  # as wide as any
    assert used - groups - narrow == ruled
