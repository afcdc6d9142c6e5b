"""Https on the shop's own network, in a browser that trusts the shop's authority the way a
phone does, and in one that does not."""

from __future__ import annotations

import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from playwright.sync_api import Browser, BrowserContext, BrowserType, Error, Page, expect

from shop.phone.lan.authority import Pair, new_authority, new_leaf
from shop.phone.lan.keeping import Folder
from tests.browser.conftest import breaches
from tests.browser.shop import ROOT, Shop, manage, surroundings
from tests.phone.test_authority import HERE
from tests.phone.test_beside import free_port

NAME = "shop.lan"
ELSEWHERE = "shop.example"
WITHIN_S = 60
HAS = """() => ({
  secure: isSecureContext,
  worker: "serviceWorker" in navigator,
  camera: Boolean(navigator.mediaDevices?.getUserMedia),
  caches: "caches" in window,
})"""
CAMERA = """async () => {
  const stream = await navigator.mediaDevices.getUserMedia({ video: true });
  const [track] = stream.getVideoTracks();
  const state = track.readyState;
  track.stop();
  return state;
}"""
SEND = """async (form) => {
  const body = new URLSearchParams(form);
  return (await fetch("/sign-in/", { method: "POST", body })).status;
}"""
REGISTER = """async () => {
  await navigator.serviceWorker.register("/sw.js");
  const late = new Promise((_, no) => setTimeout(no, 60_000, new Error("it does not start")));
  const ready = await Promise.race([navigator.serviceWorker.ready, late]);
  return new URL(ready.active.scriptURL).pathname;
}"""


@dataclass(frozen=True)
class Secured:
    """A shop that serves https; ``side``: the address of the page beside it."""

    address: str
    side: str
    port: int
    folder: Folder
    server: subprocess.Popen[bytes]


@pytest.fixture(scope="module")
def secured(shop: Shop) -> Iterator[Secured]:
    """The demo workshop behind granian's own TLS, and the page beside it."""
    port, side_port = free_port(), free_port()
    words = ("lan", "ready", "--name", NAME, "--port", str(port), "--here", str(HERE))
    address = manage(shop.data, shop.database, *words).splitlines()[0]
    assert address == f"https://{NAME}:{port}"
    folder = Folder(shop.data / "lan")
    side = f"http://{NAME}:{side_port}"
    around = surroundings(shop.data, shop.database, address) | {"HEELCAP_SIDE_ADDRESS": side}
    serve = [sys.executable, "-c", serving(), "--interface", "wsgi", "--host", "127.0.0.1"]
    serve += ["--port", str(port), "--workers", "2", "--no-ws", "--ssl-protocol-min", "tls1.2"]
    serve += ["--ssl-certificate", str(folder.server_file), "--ssl-keyfile"]
    serve += [str(folder.server_file), "--respawn-interval", "5", "--workers-kill-timeout", "5"]
    serve.append("shop.wsgi:application")
    with ExitStack() as stack, (shop.data / "https.log").open("w") as log:

        def start(*command: str) -> subprocess.Popen[bytes]:
            process = subprocess.Popen(
                command, cwd=ROOT, env=around, stdout=log, stderr=subprocess.STDOUT
            )
            stack.callback(process.wait, 20)
            stack.callback(process.terminate)
            return process

        server = start(*serve)
        beside = ("--server", str(server.pid), "--side-port", str(side_port))
        start(sys.executable, "manage.py", "lan", "beside", *beside)
        _until_open(port, shop.data / "https.log")
        _until_open(side_port, shop.data / "https.log")
        yield Secured(address, side, port, folder, server)


def serving() -> str:
    """How shop/run starts its server: with the shop loaded before it forks."""
    found = re.search(
        r"^SERVE='\n(.*?)'$", (ROOT / "shop/run").read_text(), re.DOTALL | re.MULTILINE
    )
    assert found
    return found[1]


def _until_open(port: int, log: Path) -> None:
    until = time.monotonic() + WITHIN_S
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=5).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError(f"Port {port} did not open:\n{log.read_text()}")


@contextmanager
def browser_that_trusts(
    browser_type: BrowserType, launch_args: dict[str, Any], home: Path, *trusted: bytes
) -> Iterator[Browser]:
    """A browser with a home of its own and these authorities put into it, by Mozilla's certutil
    into the store that Chromium reads on Linux."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    certutil = shutil.which("certutil")
    assert certutil, "certutil is missing: apt-get install libnss3-tools"
    subprocess.run([certutil, "-d", f"sql:{store}", "-N", "--empty-password"], check=True)
    for number, der in enumerate(trusted):
        pem = home / f"{number}.pem"
        pem.write_bytes(x509.load_der_x509_certificate(der).public_bytes(Encoding.PEM))
        put = ["-A", "-t", "C,,", "-n", f"heelcap {number}", "-i", str(pem)]
        subprocess.run([certutil, "-d", f"sql:{store}", *put], check=True)
    here = ",".join(f"MAP {name} 127.0.0.1" for name in (NAME, ELSEWHERE))
    args = [*launch_args["args"], f"--host-resolver-rules={here}"]
    browser = browser_type.launch(
        **launch_args | {"args": args, "env": {**os.environ, "HOME": str(home)}}
    )
    try:
        yield browser
    finally:
        browser.close()


@pytest.fixture(scope="module")
def trusting(
    secured: Secured,
    browser_type: BrowserType,
    browser_type_launch_args: dict[str, Any],
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Browser]:
    """It trusts what it took from the page beside the shop."""
    port = secured.side.rpartition(":")[2]
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/heelcap.crt", timeout=10) as answer:
        der = answer.read()
    home = tmp_path_factory.mktemp("trusting")
    with browser_that_trusts(browser_type, browser_type_launch_args, home, der) as browser:
        yield browser


@pytest.fixture
def phone(trusting: Browser) -> Iterator[BrowserContext]:
    context = trusting.new_context(
        viewport={"width": 390, "height": 844}, permissions=["camera"], locale="en"
    )
    yield context
    context.close()


def opened(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address)
    return page


def test_a_phone_that_was_set_up_has_a_secure_page(secured: Secured, phone: BrowserContext) -> None:
    page = opened(phone, f"{secured.address}/sign-in/")
    expect(page.locator("h1")).to_be_visible()
    assert page.evaluate(HAS) == dict.fromkeys(("secure", "worker", "camera", "caches"), True)


def test_its_camera_opens_in_the_page(secured: Secured, phone: BrowserContext) -> None:
    page = opened(phone, f"{secured.address}/sign-in/")
    assert page.evaluate(CAMERA) == "live"


def test_its_service_worker_runs(secured: Secured, phone: BrowserContext) -> None:
    page = opened(phone, f"{secured.address}/sign-in/")
    assert page.evaluate(REGISTER) == "/sw.js"


def test_signing_in_works_over_https(secured: Secured, phone: BrowserContext) -> None:
    page = opened(phone, f"{secured.address}/sign-in/")
    token = next(one for one in phone.cookies() if one["name"] == "csrftoken")
    assert token["secure"]
    form = {"badge": "P-01", "pin": "0101", "csrfmiddlewaretoken": token["value"]}
    assert page.evaluate(SEND, form) == 200
    sent = opened(phone, f"{secured.address}/paper/")
    expect(sent.get_by_role("link", name="Phone set-up sheet")).to_be_visible()
    assert sent.evaluate("async () => (await fetch('/paper/phones.pdf')).status") == 200


def test_without_https_the_same_browser_keeps_camera_and_worker_shut(
    secured: Secured, phone: BrowserContext
) -> None:
    page = opened(phone, f"{secured.side}/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Set up this phone")
    kept = page.evaluate(HAS)
    assert (kept["secure"], kept["worker"], kept["camera"]) == (False, False, False)


def test_the_page_beside_stays_open_after_the_shop_was_opened(
    secured: Secured, phone: BrowserContext
) -> None:
    """Strict transport would take a phone from the one to the other (RFC 6797, 8.3)."""
    opened(phone, f"{secured.address}/sign-in/")
    page = opened(phone, f"{secured.side}/")
    assert page.url == f"{secured.side}/"


def test_the_page_beside_is_for_gloves_and_for_everybody(
    secured: Secured, trusting: Browser
) -> None:
    """Web Content Accessibility Guidelines 2.2; targets of 48 px, common practice, no source."""
    for colours in ("light", "dark"):
        context = trusting.new_context(
            viewport={"width": 390, "height": 844}, color_scheme=colours, locale="en"
        )
        page = opened(context, f"{secured.side}/")
        for one in page.locator("summary").all():
            one.click()
        assert breaches(page) == []
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        for target in page.locator("a, summary").all():
            box = target.bounding_box()
            assert box
            assert min(box["width"], box["height"]) >= 48, target.inner_text()
        context.close()


def test_a_browser_that_was_not_set_up_is_kept_out(
    secured: Secured,
    browser_type: BrowserType,
    browser_type_launch_args: dict[str, Any],
    tmp_path: Path,
) -> None:
    other = new_authority([NAME], datetime.now(UTC)).der
    with browser_that_trusts(browser_type, browser_type_launch_args, tmp_path, other) as browser:
        page = browser.new_page()
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto(f"{secured.address}/sign-in/")


def shown(secured: Secured) -> int:
    """The serial number of the certificate that the server shows."""
    pem = ssl.get_server_certificate(("127.0.0.1", secured.port))
    return x509.load_pem_x509_certificate(pem.encode()).serial_number


def test_the_server_shows_a_renewed_certificate_once_told_and_never_stops_to_answer(
    secured: Secured, phone: BrowserContext
) -> None:
    own, before = secured.folder.authority(), secured.folder.leaf()
    assert own
    assert before
    assert shown(secured) == before.certificate.serial_number
    made = new_leaf(own, NAME, [HERE], datetime.now(UTC))
    secured.folder.keep_server(made.pem)
    secured.server.send_signal(signal.SIGHUP)
    until = time.monotonic() + WITHIN_S
    new = made.certificate.serial_number
    seen: list[int] = []
    while seen[-20:] != [new] * 20:  # there are two processes, and either may answer
        assert time.monotonic() < until, "the server still shows the old one"
        seen.append(shown(secured))
        time.sleep(0.1)
    assert set(seen) <= {before.certificate.serial_number, new}
    assert opened(phone, f"{secured.address}/sign-in/").evaluate("isSecureContext")


@contextmanager
def showing(leaf: Pair, folder: Path) -> Iterator[int]:
    """A server of its own that shows this leaf, at a port."""
    (folder / "leaf.pem").write_bytes(leaf.pem)
    around = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    around.load_cert_chain(folder / "leaf.pem")
    server = ThreadingHTTPServer(("127.0.0.1", 0), BaseHTTPRequestHandler)
    server.socket = around.wrap_socket(server.socket, server_side=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()


@pytest.mark.parametrize(("name", "taken"), [(NAME, True), (ELSEWHERE, False)])
def test_a_stolen_authority_opens_no_other_site(
    secured: Secured, trusting: Browser, tmp_path: Path, name: str, taken: bool
) -> None:
    """Chromium too holds the authority to its name constraints (RFC 5280, 4.2.1.10)."""
    own = secured.folder.authority()
    assert own
    made = new_leaf(own, name, [], datetime.now(UTC))
    with showing(made, tmp_path) as port, closing(trusting.new_context()) as context:
        page = context.new_page()
        if taken:
            # It answers no to everything, but it is spoken to.
            answer = page.goto(f"https://{name}:{port}/")
            assert answer
            assert answer.status == 501
        else:
            with pytest.raises(Error, match="ERR_CERT"):
                page.goto(f"https://{name}:{port}/")
