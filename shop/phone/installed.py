"""The shop as an app of the phone: its manifest, its worker, and the page for where neither the
network nor a page that was carried along is there."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from shop.people.gate import may
from shop.phone.files import READER, WASM

# Asked again before every use (RFC 9111, 5.2.2.4), and never kept for another phone.
FRESH: Final = "no-cache,private"
# As tokens.css has them.
PAPER: Final = "#fbf7ee"
INK: Final = "#1f1a15"
# Drawn by tests/phone/icons.py.
PICTURES: Final = (
    ("icons/heelcap-192.png", "192x192", "any"),
    ("icons/heelcap-512.png", "512x512", "any"),
    ("icons/heelcap-maskable-192.png", "192x192", "maskable"),
    ("icons/heelcap-maskable-512.png", "512x512", "maskable"),
)
# What other pages say of whoever looks.
NOBODYS: Final = ("badge_code", "thumb", "text_size", "units", "station_words", "csrf_token")

# What a hand looks for first, by the right it takes; a phone shows about four. Who only scans
# finds the station behind the scan; the lead holds all rights and comes first.
SHORTCUTS: Final = (
    ("instrument.settle", (("desk:floor", gettext_lazy("Floor")),
                           ("paper:choose", gettext_lazy("Print")))),
    ("tray.pick", (("kitting:trays", gettext_lazy("Trays")),)),
    ("", (("bench:scan", gettext_lazy("Scan")),
          ("bench:here", gettext_lazy("At this station")))),
)  # fmt: skip

# What a page needs that is opened without the network: files of these rooms, and the reader.
ROOMS: Final = ("bench", "icons", "people", "phone", "style")
ASIDE: Final = frozenset({"phone/worker.js", "phone/lan.css"})
FETCHED: Final = ("django_htmx/htmx-2.min.js", READER, "vendor/zxing/es/share.js", WASM)


@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """What the phone's browser asks about before it installs the shop (W3C, Web Application
    Manifest). It names nobody; its shortcuts are those of whoever asks."""
    told = {
        "id": "/",
        "name": "Heelcap",
        "short_name": "Heelcap",
        "description": _("The floor: scan, see what is to be done, record."),
        "lang": get_language(),
        "dir": "ltr",
        "scope": "/",
        "start_url": reverse("bench:scan"),
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": INK,
        "icons": [
            {
                "src": static(path),
                "sizes": sizes,
                "type": "image/png",
                "purpose": purpose,
            }
            for path, sizes, purpose in PICTURES
        ],
        "shortcuts": [
            {"name": str(words), "url": reverse(name)} for name, words in _shortcuts(request.user)
        ],
    }
    response = JsonResponse(told, content_type="application/manifest+json")
    response["Cache-Control"] = FRESH
    return response


def _shortcuts(badge: Any) -> tuple[tuple[str, Any], ...]:
    known = badge.is_authenticated
    return next(ways for right, ways in SHORTCUTS if not right or (known and may(badge, right)))


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The phone's worker; switched off, one that removes what it kept, and itself. Phones also
    ask for its head, to know whether the shop is there.
    """
    text = _worker() if settings.WORKER else END
    response = HttpResponse(text, content_type="text/javascript; charset=utf-8")
    response["Cache-Control"] = "no-cache"
    response["Service-Worker-Allowed"] = "/"
    return response


def _worker() -> str:
    return _told() if settings.DEBUG else _kept()


@lru_cache(maxsize=1)
def _kept() -> str:
    """Gathered files do not change while a process runs."""
    return _told()


def _told() -> str:
    """The worker's code with what it keeps and with its version, which is another one as soon
    as any file or the code is."""
    code = _path("phone/worker.js").read_text()
    files = sorted(filter(None, (staticfiles_storage.url(one) for one in _names())))
    sums = [hashlib.sha256(_path(one).read_bytes()).hexdigest() for one in _names()]
    version = hashlib.sha256("\n".join([code, *files, *sums]).encode()).hexdigest()[:12]
    kept = {
        "version": version,
        "files": files,
        "pages": [reverse("phone:aside"), reverse("phone:waiting"), reverse("bench:pitch")],
    }
    return code.replace("SHOP = {}", f"SHOP = {json.dumps(kept)}", 1)


def _names() -> Iterator[str]:
    """The names of the static files that pages without the network need."""
    for folder in map(Path, settings.STATICFILES_DIRS):
        for room in ROOMS:
            names = (one.relative_to(folder).as_posix() for one in (folder / room).glob("*.*"))
            yield from sorted(one for one in names if one not in ASIDE)
    yield from (one for one in FETCHED if finders.find(one))


def _path(name: str) -> Path:
    found = finders.find(name)
    assert isinstance(found, str), name
    return Path(found)


# No page is lost by it that the shop cannot give again, and nothing that waits to be sent: that
# is in the phone's database, which is left alone.
END: Final = """\
addEventListener("install", () => skipWaiting());
addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) {
    if (/^(pages|static)-/.test(name)) await caches.delete(name);
  }
  await registration.unregister();
})()));
"""


@require_safe
def aside(request: HttpRequest) -> HttpResponse:
    """What is shown where the network does not reach and the page asked for is not carried. It
    names nobody, and is the same for whoever holds the phone."""
    nobody: dict[str, Any] = dict.fromkeys(NOBODYS, "")
    nobody |= {"nobody": True, "idle_seconds": settings.IDLE_SECONDS}
    nobody |= {"places": {"pad": reverse("people:pad")}}
    response = render(request, "phone/aside.html", nobody)
    response["X-Offline"] = "shared"
    response["Cache-Control"] = FRESH
    return response
