"""The page beside the shop, over plain http: by it a phone comes to trust the shop's https.

A handful of pages for the oldest phone: no script, no cookie, no database.
"""

from __future__ import annotations

import io
import plistlib
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from http import HTTPStatus
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any, Final
from urllib.parse import parse_qs
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server
from wsgiref.types import StartResponse, WSGIEnvironment

import qrcode
from django.conf import settings
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation.trans_real import parse_accept_lang_header
from qrcode.constants import ERROR_CORRECT_M
from qrcode.image.svg import SvgPathFillImage

from shop.craft.fingerprint import fingerprint
from shop.phone.lan.authority import Pair

CERTIFICATE: Final = "/heelcap.crt"
PROFILE: Final = "/heelcap.mobileconfig"
POLICY: Final = (
    "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
HEADERS: Final = (
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
)
HTML: Final = "text/html; charset=utf-8"
CSS: Final = "text/css; charset=utf-8"
SLOWEST_S: Final = 10  # a phone that says nothing for so long is gone


@dataclass(frozen=True, slots=True)
class Answer:
    kind: str
    body: bytes
    status: HTTPStatus = HTTPStatus.OK


class Side:
    """What is answered, as a WSGI application. ``shop``: the address that phones open over
    https; ``here``: the address of this page."""

    def __init__(self, authority: Pair, shop: str, here: str) -> None:
        self.authority = authority
        self.shop = shop
        self.here = here
        self._pages: dict[str, Callable[[str], Answer]] = {
            "/": self._page,
            CERTIFICATE: lambda _language: Answer("application/x-x509-ca-cert", authority.der),
            PROFILE: lambda _language: Answer("application/x-apple-aspen-config", self._profile()),
            "/here.svg": lambda _language: Answer("image/svg+xml", square(here)),
            "/shop.svg": lambda _language: Answer("image/svg+xml", square(shop)),
            "/tokens.css": lambda _language: Answer(CSS, _static("style/tokens.css")),
            "/lan.css": lambda _language: Answer(CSS, _static("phone/lan.css")),
        }

    def __call__(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        method = environ["REQUEST_METHOD"]
        if method not in {"GET", "HEAD"}:
            answer = Answer("text/plain", b"", HTTPStatus.METHOD_NOT_ALLOWED)
        else:
            page = self._pages.get(environ.get("PATH_INFO") or "/", self._elsewhere)
            answer = page(language_of(environ))
        headers = [("Content-Type", answer.kind), ("Content-Length", str(len(answer.body)))]
        start(f"{answer.status.value} {answer.status.phrase}", [*headers, *HEADERS])
        return [answer.body] if method == "GET" else []

    def _page(self, language: str, status: HTTPStatus = HTTPStatus.OK) -> Answer:
        other = [one for one in settings.LANGUAGES if one[0] != language]
        with translation.override(language):
            said = {
                "language": language,
                "others": other,
                "shop": self.shop,
                "here": self.here,
                "name": self.authority.name,
                "until": self.authority.until,
                "groups": fingerprint(self.authority.der),
                "certificate": CERTIFICATE,
                "profile": PROFILE,
            }
            return Answer(HTML, render_to_string("phone/lan.html", said).encode(), status)

    def _elsewhere(self, language: str) -> Answer:
        """Whatever else a phone asks for: the page is what there is."""
        return self._page(language, HTTPStatus.NOT_FOUND)

    def _profile(self) -> bytes:
        """The authority as a phone of Apple's takes it, with a name to know it by. What is the
        same authority has the same identity, so that it is put in once."""
        der = self.authority.der
        own = uuid.uuid5(uuid.NAMESPACE_URL, "".join(fingerprint(der)))
        inner = {
            "PayloadType": "com.apple.security.root",
            "PayloadVersion": 1,
            "PayloadIdentifier": f"heelcap.{own}.root",
            "PayloadUUID": str(uuid.uuid5(own, "root")),
            "PayloadDisplayName": self.authority.name,
            "PayloadContent": der,
        }
        return plistlib.dumps(
            {
                "PayloadType": "Configuration",
                "PayloadVersion": 1,
                "PayloadIdentifier": f"heelcap.{own}",
                "PayloadUUID": str(own),
                "PayloadDisplayName": self.authority.name,
                "PayloadDescription": self.shop,
                "PayloadContent": [inner],
            }
        )


def language_of(environ: WSGIEnvironment) -> str:
    """``?lang=``, else what the phone prefers of what the shop speaks."""
    known: dict[str, str] = dict(settings.LANGUAGES)
    asked: str = parse_qs(environ.get("QUERY_STRING", "")).get("lang", [""])[0]
    if asked in known:
        return asked
    for one, _weight in parse_accept_lang_header(environ.get("HTTP_ACCEPT_LANGUAGE", "").lower()):
        if (main := one.partition("-")[0]) in known:
            return main
    return str(settings.LANGUAGE_CODE)


def square(address: str) -> bytes:
    """The QR of an address as a picture: black on white whatever the page is."""
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, image_factory=SvgPathFillImage)
    code.add_data(address)
    out = io.BytesIO()
    code.make_image().save(out)
    return out.getvalue()


def _static(name: str) -> bytes:
    path: Path = settings.BASE_DIR / "static" / name
    return path.read_bytes()


class _Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class _Handler(WSGIRequestHandler):
    """Leaves whoever stops speaking, and keeps no record of who came."""

    timeout = SLOWEST_S

    def log_message(self, format: str, *words: Any) -> None:  # noqa: A002 - its name there
        return


def server(application: Side, port: int, host: str = "0.0.0.0") -> WSGIServer:  # noqa: S104 - for phones
    return make_server(host, port, application, server_class=_Server, handler_class=_Handler)
