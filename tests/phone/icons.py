"""The shop's picture on a phone's screen: ``python -m tests.phone.icons`` draws it anew, in the
sizes that phones ask for, from static/icons/heelcap.svg.

A maskable icon fills its square, and what it shows lies in the circle of four fifths of its width
(W3C, Web Application Manifest, "Icon masks and safe zone"). Apple cuts the corners by itself.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from playwright.sync_api import sync_playwright

ICONS: Final = Path(__file__).resolve().parents[2] / "static/icons"
GROUND: Final = "#1f1a15"
SAFE: Final = 0.9  # of its size, so that its corners come into the circle
APPLE_PX: Final = 180
# Name, pixels, whether it fills its square.
DRAWN: Final = (
    ("heelcap-192", 192, False),
    ("heelcap-512", 512, False),
    ("heelcap-maskable-192", 192, True),
    ("heelcap-maskable-512", 512, True),
    ("apple-touch", APPLE_PX, True),
)


def draw() -> None:
    drawing = (ICONS / "heelcap.svg").read_text()
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
        for name, pixels, whole in DRAWN:
            page = browser.new_page(viewport={"width": pixels, "height": pixels})
            ground, scale = (GROUND, SAFE) if whole else ("transparent", 1)
            page.set_content(
                f"<style>*{{margin:0}} body{{background:{ground};height:100vh}}"
                f"svg{{display:block;width:100%;height:100%;transform:scale({scale})}}</style>{drawing}"
            )
            page.screenshot(path=ICONS / f"{name}.png", omit_background=True)
            page.close()
        browser.close()


if __name__ == "__main__":
    draw()
