"""How long from a scanned tag to a page one can work on, without the network:
``python -m tests.bench.offline``. Prints times, asserts nothing.

A browser with a whole shop of its own; the code comes as a hand scanner types it. The page is
there when the first thing to do on it can be tapped.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Final

TRIES: Final = 20
BAR_MS: Final = 300
READY_WITHIN_MS: Final = 120_000


def main() -> int:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    with tempfile.TemporaryDirectory() as place:
        os.environ["HEELCAP_DATA"] = place
        import django

        django.setup()
        times = measured(Path(place))
    times.sort()
    print(
        f"scan to page, from the phone alone: median {statistics.median(times):.0f} ms, "
        f"least {times[0]:.0f} ms, most {times[-1]:.0f} ms of {len(times)}; the bar is {BAR_MS} ms"
    )
    return 0


def measured(place: Path) -> list[float]:
    from playwright.sync_api import sync_playwright

    from tests.browser import books
    from tests.browser.conftest import CHROMIUM, hand_over
    from tests.browser.shop import furnished, opened

    with (
        furnished(place / "furnished") as whole,
        opened(whole, place / "shop") as shop,
        sync_playwright() as play,
    ):
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        context = browser.new_context(base_url=shop.address, viewport={"width": 390, "height": 844})
        page = context.new_page()
        hand_over(page, shop, "P-11", "1111")
        page.goto("/scan/")
        page.get_by_text("Ready without the network:").wait_for(timeout=READY_WITHIN_MS)
        context.set_offline(True)
        codes = [books.body_tag(shop, one) for one in ("Q-1043", "Q-1055", "Q-1058", "Q-1044")]
        times = []
        for turn in range(TRIES):
            page.goto("/scan/")
            page.locator("[data-list] a").first.wait_for()
            page.locator("#main").focus()
            code = codes[turn % len(codes)]
            page.keyboard.type(code)
            begun = time.perf_counter()
            page.keyboard.press("Enter")
            page.wait_for_url(f"**/{code}", wait_until="commit")
            page.locator("[data-carried] [data-part]:not([hidden])").first.wait_for()
            times.append((time.perf_counter() - begun) * 1000)
        browser.close()
        return times


if __name__ == "__main__":
    sys.exit(main())
