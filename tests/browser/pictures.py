"""Pictures of the real screens for the README: ``python -m tests.browser.pictures``.

Opens a demo shop of its own, looks at it with Chromium at the size of a phone, and writes
``static/pictures``. A picture is drawn in few colours, so that all of them together stay
lighter than one photo.
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import Final

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import CHROMIUM, hand_over
from tests.browser.screens import SCREENS, Screen
from tests.browser.shop import ROOT, Shop, furnished, opened

PICTURES: Final = ROOT / "static" / "pictures"
SIZE: Final = {"width": 390, "height": 844}
SCALE: Final = 2
COLOURS: Final = 32
HEAVIEST_B: Final = 80_000

# Name of the file -> name of the screen, in the order of a morning.
SHOWN: Final = {
    "sign-in": "sign-in",
    "scan": "scan, last tags",
    "instrument": "instrument",
    "stop": "stop",
    "bin": "bin",
    "check": "tray to check",
    "shorts": "shorts",
    "lot": "where a lot went",
    "floor": "floor",
    "measure": "measure",
    "why": "measure, stop unfolded",
    "posts": "posts asked",
    "sets": "sets on specs",
    "open": "instrument, another has it",
    "case": "instrument, out of its case",
    "settle": "settle one, in doubt",
    "history": "history",
}


def take(browser: Browser, shop: Shop, screen: Screen) -> bytes:
    """One screen as a PNG, as the phone's glass shows it."""
    context = browser.new_context(
        base_url=shop.address,
        viewport={"width": SIZE["width"], "height": SIZE["height"]},
        device_scale_factor=SCALE,
        has_touch=True,
        is_mobile=True,
        locale="en",
        color_scheme="light",
        reduced_motion="reduce",
    )
    page = context.new_page()
    if screen.badge:
        hand_over(page, shop, screen.badge, screen.badge.removeprefix("P-") * 2)
    screen.way(page, shop)
    picture = page.screenshot()
    context.close()
    return lighter(picture)


def lighter(picture: bytes) -> bytes:
    """The picture in few colours, packed as tightly as PNG goes.

    Raises ``ValueError`` when it is still too heavy for a README.
    """
    full = Image.open(io.BytesIO(picture)).convert("RGB")
    # The commonest as they are, not averaged: paper keeps its warmth, a mark its yellow.
    levels = full.tobytes()
    counted = Counter(zip(levels[0::3], levels[1::3], levels[2::3], strict=True))
    commonest = [colour for colour, _ in counted.most_common(COLOURS)]
    palette = Image.new("P", (1, 1))
    palette.putpalette([level for colour in commonest for level in colour])
    few = full.quantize(palette=palette, dither=Image.Dither.NONE)
    into = io.BytesIO()
    few.save(into, "PNG", optimize=True)
    if into.tell() > HEAVIEST_B:
        raise ValueError(
            f"A picture of {into.tell()} bytes: {HEAVIEST_B} at most. Use fewer colours."
        )
    return into.getvalue()


def main() -> None:
    """Take every picture anew."""
    screens = {one.name: one for one in SCREENS}
    PICTURES.mkdir(exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as place,
        furnished(Path(place, "furnished")) as furniture,
        opened(furniture, Path(place, "shop")) as shop,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for name, screen in SHOWN.items():
            picture = take(browser, shop, screens[screen])
            (PICTURES / f"{name}.png").write_bytes(picture)
            sys.stdout.write(f"static/pictures/{name}.png  {len(picture) / 1000:.0f} kB\n")
        browser.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as own:
        os.environ |= {"DJANGO_SETTINGS_MODULE": "shop.settings", "HEELCAP_DATA": own}
        main()
