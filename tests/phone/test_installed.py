"""The shop as an app of the phone: its manifest, its worker, and what it is made of."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import Group
from django.core.management import call_command
from django.test import Client
from PIL import Image
from pytest_django import Settings

from shop.people.models import Badge
from shop.phone import installed
from tests.people.phones import PIN, enter

pytestmark = pytest.mark.django_db

ROOT = Path(__file__).resolve().parents[2]
ICONS = ROOT / "static/icons"
SHOP = re.compile(r"^const SHOP = (\{.+\});$", re.MULTILINE)


def manifest(phone: Client | None = None, language: str = "en") -> dict[str, Any]:
    asked = {"Accept-Language": language}
    answer = (phone or Client()).get("/manifest.webmanifest", headers=asked)
    assert answer["Content-Type"] == "application/manifest+json"
    told: dict[str, Any] = answer.json()
    return told


def phone_of(role: str) -> Client:
    badge = Badge.objects.create_user("X-1", PIN)
    badge.groups.add(Group.objects.get(name=role))
    phone = Client()
    assert enter(phone, "X-1").status_code == 302
    return phone


def kept() -> dict[str, Any]:
    """What the worker keeps, as its first line says."""
    found = SHOP.search(Client().get("/sw.js").content.decode())
    assert found
    told: dict[str, Any] = json.loads(found[1])
    return told


# --- the manifest: W3C, Web Application Manifest; Chromium's install criteria are asked of the
# browser itself in tests/browser/test_offline.py


def test_it_has_the_members_that_say_which_app_it_is_and_where_it_opens() -> None:
    told = manifest()
    assert {name: told[name] for name in ("id", "scope", "start_url", "display", "dir")} == {
        "id": "/", "scope": "/", "start_url": "/scan/", "display": "standalone", "dir": "ltr",
    }  # fmt: skip
    assert (told["name"], told["short_name"]) == ("Heelcap", "Heelcap")


def test_its_colours_are_the_paper_and_the_ink_of_every_page() -> None:
    tokens = (ROOT / "static/style/tokens.css").read_text()
    told = manifest()
    assert f"--paper: {told['background_color']};" in tokens
    assert f"--ink: {told['theme_color']};" in tokens


def test_it_speaks_the_language_of_the_phone() -> None:
    assert manifest(language="es")["lang"] == "es"
    assert manifest()["lang"] == "en"


@pytest.mark.parametrize(
    ("role", "ways"),
    [
        ("operator", ["/scan/", "/here/"]),
        ("trainee", ["/scan/", "/here/"]),
        ("kitting clerk", ["/trays/"]),
        ("lead", ["/floor/", "/paper/"]),
    ],
)
def test_its_shortcuts_are_those_of_the_badge_that_asks(role: str, ways: list[str]) -> None:
    phone = phone_of(role)
    urls = [one["url"] for one in manifest(phone)["shortcuts"]]
    assert urls == ways
    assert [phone.get(url, follow=True).status_code for url in urls] == [200] * len(urls)


def test_where_nobody_is_signed_in_its_shortcuts_are_an_operators() -> None:
    assert [one["name"] for one in manifest()["shortcuts"]] == ["Scan", "At this station"]


def test_it_names_nobody() -> None:
    assert "X-1" not in json.dumps(manifest(phone_of("lead")))


def test_each_of_its_pictures_is_there_in_the_size_it_says() -> None:
    icons = manifest()["icons"]
    assert {(one["sizes"], one["purpose"]) for one in icons} == {
        ("192x192", "any"), ("512x512", "any"), ("192x192", "maskable"), ("512x512", "maskable"),
    }  # fmt: skip
    for one in icons:
        with Image.open(ROOT / one["src"].lstrip("/")) as picture:
            assert picture.format == "PNG"
            assert "{}x{}".format(*picture.size) == one["sizes"]


@pytest.mark.parametrize("name", ["heelcap-maskable-192", "heelcap-maskable-512", "apple-touch"])
def test_what_a_phone_cuts_off_of_a_picture_is_ground(name: str) -> None:
    """W3C, Web Application Manifest, "Icon masks and safe zone": a circle of two fifths of the
    width is always seen, all else may be cut; so the square is filled and no line lies outside.
    """
    with Image.open(ICONS / f"{name}.png") as opened:
        picture = opened.convert("RGBA")
    side = picture.width
    seen = 0
    for x in range(side):
        for y in range(side):
            red, _, _, alpha = picture.getpixel((x, y))  # type: ignore[misc]
            assert alpha == 255
            if red > 128:
                seen += 1
                assert math.hypot(x + 0.5 - side / 2, y + 0.5 - side / 2) <= 0.4 * side
    assert seen > side * side / 50, "nothing is drawn"


def test_the_picture_for_apple_has_the_size_apple_asks_for() -> None:
    """Apple, Configuring Web Applications: 180 px for the phones of today."""
    with Image.open(ICONS / "apple-touch.png") as picture:
        assert picture.size == (180, 180)


# --- the worker ---


def test_the_worker_comes_from_the_root_and_is_asked_for_anew_each_time() -> None:
    """W3C, Service Workers: its type must be JavaScript, its scope what the header allows."""
    answer = Client().get("/sw.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Service-Worker-Allowed"] == "/"
    assert answer["Cache-Control"] == "no-cache"


def test_a_phone_that_asks_whether_the_shop_is_there_costs_one_statement(
    django_assert_num_queries: Any,
) -> None:
    phone = phone_of("operator")
    with django_assert_num_queries(1):  # in which language it would be told
        answer = phone.head("/sw.js", headers={"X-Fresh": "1"})
    assert answer.status_code == 200
    assert answer.content == b""
    assert "Set-Cookie" not in answer.headers


def test_it_keeps_every_file_that_a_carried_page_asks_for() -> None:
    page = Client().get("/aside/").content.decode()
    asked = set(re.findall(r'(?:href|src|data-reader|data-wasm)="(/static/[^"]+)"', page))
    assert len(asked) > 8
    assert asked <= set(kept()["files"])


def test_it_keeps_no_file_of_a_desk() -> None:
    folders = {one.split("/")[2] for one in kept()["files"]}
    assert {"phone", "style", "bench"} <= folders
    assert folders.isdisjoint({"desk", "kitting", "paper", "pictures", "admin"})


def test_another_file_makes_another_version(settings: Settings, tmp_path: Path) -> None:
    before = kept()["version"]
    for room in installed.ROOMS:
        (tmp_path / room).mkdir()
    (tmp_path / "phone/worker.js").write_text((ROOT / "static/phone/worker.js").read_text())
    settings.STATICFILES_DIRS = [tmp_path]
    installed._kept.cache_clear()
    try:
        without = kept()["version"]
        (tmp_path / "phone/new.js").write_text("export {};\n")
        installed._kept.cache_clear()
        after = kept()["version"]
    finally:
        installed._kept.cache_clear()
    assert len({before, without, after}) == 3


def test_switched_off_it_is_one_that_removes_itself_and_nothing_that_waits(
    settings: Settings,
) -> None:
    settings.WORKER = False
    text = Client().get("/sw.js").content.decode()
    assert "registration.unregister()" in text
    assert "caches.delete" in text
    assert "indexedDB" not in text
    assert "fetch" not in text


# --- the page for where nothing is carried ---


def test_that_page_is_the_same_for_everybody_and_may_be_kept() -> None:
    answer = Client().get("/aside/")
    assert answer["X-Offline"] == "shared"
    assert "no-store" not in answer["Cache-Control"]
    assert "Set-Cookie" not in answer.headers
    assert phone_of("lead").get("/aside/").content == answer.content


def test_files_of_the_release_before_stay_when_new_ones_are_gathered(
    settings: Settings, tmp_path: Path
) -> None:
    """A page from before the release, or one that is carried, still asks for them."""
    source = tmp_path / "static"
    (source / "phone").mkdir(parents=True)
    settings.STATICFILES_DIRS = [source]
    settings.STATIC_ROOT = gathered = tmp_path / "gathered"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "shop.phone.files.PhoneFiles"}
    }
    for text in ("export const a = 1;\n", "export const a = 2;\n"):
        (source / "phone/one.js").write_text(text)
        call_command("collectstatic", interactive=False, verbosity=0, ignore_patterns=["admin"])
    assert len(list(gathered.glob("phone/one.*.js"))) == 2
    # shop/run gathers as this test does: nothing in it asks for what lies there to be removed.
    assert "--clear" not in (ROOT / "shop/run").read_text()
