"""The page beside the shop: what an old phone gets of it, and that it gets nothing else."""

from __future__ import annotations

import io
import plistlib
import re
import socket
import threading
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from wsgiref.util import setup_testing_defaults
from wsgiref.validate import validator

import lxml.html  # type: ignore[import-untyped]
import pytest
import zxingcpp
from cryptography import x509
from lxml import etree
from PIL import Image, ImageDraw

from shop.craft.fingerprint import fingerprint
from shop.phone.lan.authority import Pair, new_authority
from shop.phone.lan.side import CERTIFICATE, PROFILE, Side, server, square
from tests import house
from tests.phone.test_authority import NOW

SHOP = "https://shop.lan:8443"
HERE = "http://shop.lan:8080"


@pytest.fixture(scope="module")
def own() -> Pair:
    return new_authority(["shop.lan"], NOW)


@pytest.fixture
def side(own: Pair) -> Side:
    return Side(own, SHOP, HERE)


def ask(
    side: Side, path: str = "/", *, accept: str = "", method: str = "GET"
) -> tuple[str, dict[str, str], bytes]:
    """Status, headers and body; wsgiref's validator holds both sides to PEP 3333."""
    path, _, query = path.partition("?")
    environ: dict[str, Any] = {
        "REQUEST_METHOD": method,
        "SCRIPT_NAME": "",
        "PATH_INFO": path,
        "QUERY_STRING": query,
        "HTTP_ACCEPT_LANGUAGE": accept,
    }
    setup_testing_defaults(environ)
    told: list[Any] = []

    def start(status: str, headers: list[tuple[str, str]], trouble: Any = None) -> Any:
        told[:] = [status, dict(headers)]
        return lambda body: None

    answered: Any = validator(side)(environ, start)
    try:
        body = b"".join(answered)
    finally:
        answered.close()
    return told[0], told[1], body


def text_of(body: bytes) -> str:
    return " ".join(lxml.html.fromstring(body.decode()).text_content().split())


def test_the_page_says_the_fingerprint_the_shop_and_what_works_without(
    side: Side, own: Pair
) -> None:
    status, _, body = ask(side)
    assert status == "200 OK"
    text = text_of(body)
    assert " ".join(fingerprint(own.der)) in text
    assert f"“{own.name}” and good until 2041-03-01" in text
    for words in ("Certificate Trust Settings", "search for “CA certificate”", SHOP, HERE,
                  "Keychain Access", "Trusted Root", "the live camera in the page",
                  "a photo of the tag, a hand scanner, the typed code"):  # fmt: skip
        assert words in text


def test_the_page_needs_no_script_and_lets_none_run(side: Side) -> None:
    _, headers, body = ask(side)
    assert "script" not in body.decode()
    assert house.inline_code(body.decode()) == []
    policy = headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; style-src 'self'; img-src 'self';")
    assert "unsafe" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_whatever_the_page_names_is_there(side: Side) -> None:
    page = lxml.html.fromstring(ask(side)[2].decode())
    named = {address for _, _, address, _ in page.iterlinks()} - {SHOP}
    assert {CERTIFICATE, PROFILE, "/lan.css", "/shop.svg", "/here.svg"} <= named
    assert {one: ask(side, one)[0] for one in named} == dict.fromkeys(named, "200 OK")


def test_the_certificate_is_the_authority_alone(side: Side, own: Pair) -> None:
    """RFC 5280 calls the form DER; the media type is what phones install."""
    _, headers, body = ask(side, CERTIFICATE)
    assert headers["Content-Type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(body) == own.certificate


def test_the_profile_holds_the_authority_as_a_root(side: Side, own: Pair) -> None:
    """Apple, Configuration Profile Reference: the keys of a profile and of a root in it."""
    _, headers, body = ask(side, PROFILE)
    assert headers["Content-Type"] == "application/x-apple-aspen-config"
    profile = plistlib.loads(body)
    [root] = profile["PayloadContent"]
    assert profile["PayloadType"] == "Configuration"
    assert root["PayloadType"] == "com.apple.security.root"
    assert root["PayloadContent"] == own.der
    for one in (profile, root):
        assert one["PayloadVersion"] == 1
        assert one["PayloadDisplayName"] == own.name
        assert re.fullmatch(r"[0-9a-f-]{36}", one["PayloadUUID"])
    assert ask(side, PROFILE)[2] == body, "taken twice it is one profile"


def test_no_key_is_in_anything_that_is_served(side: Side, own: Pair) -> None:
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )

    secret = own.key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    number = own.key.private_numbers().private_value.to_bytes(32, "big")
    assert number in secret
    for path in ("/", CERTIFICATE, PROFILE, "/lan/authority.pem", "/../lan/authority.pem",
                 "/authority.pem"):  # fmt: skip
        body = ask(side, path)[2]
        assert number not in body
        assert b"PRIVATE" not in body


@pytest.mark.parametrize("path", ["/sign-in/", "/lan/authority.pem", "/../../etc/passwd", "//"])
def test_any_other_address_is_answered_with_the_page(side: Side, path: str) -> None:
    status, _, body = ask(side, path)
    assert status == "404 Not Found"
    assert "Set up this phone" in text_of(body)


def test_nothing_can_be_sent_to_it(side: Side) -> None:
    assert ask(side, method="POST")[0] == "405 Method Not Allowed"
    status, headers, body = ask(side, method="HEAD")
    assert (status, body) == ("200 OK", b"")
    assert int(headers["Content-Length"]) > 1000


@pytest.mark.parametrize(
    ("path", "accept", "language"),
    [
        ("/", "", "en"),
        ("/", "es-MX,es;q=0.9,en;q=0.5", "es"),
        ("/", "fr, es;q=0.4", "es"),
        ("/", "fr", "en"),
        ("/?lang=es", "en", "es"),
        ("/?lang=en", "es", "en"),
        ("/?lang=xx", "es", "es"),
        ("/?lang=%00", ";;q=,", "en"),
    ],
)
def test_it_speaks_the_phones_language(side: Side, path: str, accept: str, language: str) -> None:
    page = lxml.html.fromstring(ask(side, path, accept=accept)[2].decode())
    assert page.get("lang") == language
    others = {one.get("lang") for one in page.xpath("//a[@hreflang]")}
    assert others == {"en", "es"} - {language}


def _drawn(svg: bytes) -> Image.Image:
    """A picture of the squares of an SVG, made without the program that wrote it."""
    root = etree.fromstring(svg)
    side = float(root.get("viewBox").split()[2])
    px = 600 / side
    picture = Image.new("L", (600, 600), 255)
    pen = ImageDraw.Draw(picture)
    path = root.find("{*}path").get("d")
    squares = re.findall(r"M([\d.]+),([\d.]+)H([\d.]+)V([\d.]+)H[\d.]+z", path)
    assert len(squares) > 200
    for left, top, right, low in (map(float, one) for one in squares):
        pen.rectangle((left * px, top * px, right * px - 1, low * px - 1), fill=0)
    return picture


@pytest.mark.parametrize("address", [SHOP, HERE, f"https://{'a' * 60}.lan:65535"])
def test_a_camera_reads_the_squares(address: str) -> None:
    """zxing-cpp is an independent reader of ISO/IEC 18004."""
    svg = square(address)
    assert b'fill="white"' in svg, "black on white by night too"
    [read] = zxingcpp.read_barcodes(_drawn(svg))
    assert read.text == address


@contextmanager
def opened(side: Side) -> Iterator[int]:
    one = server(side, 0, "127.0.0.1")
    threading.Thread(target=one.serve_forever, daemon=True).start()
    try:
        yield one.server_port
    finally:
        one.shutdown()
        one.server_close()


def test_a_phone_that_says_nothing_keeps_nobody_waiting(side: Side) -> None:
    with (
        opened(side) as port,
        socket.create_connection(("127.0.0.1", port)),
        urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer,
    ):
        assert answer.status == 200
        assert "Set up this phone" in io.TextIOWrapper(answer).read()
