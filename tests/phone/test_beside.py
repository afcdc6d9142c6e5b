"""The process beside the server: it renews, tells the server, serves the page, and goes."""

from __future__ import annotations

import io
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from shop.phone.lan.authority import CA_LIFE, Pair, new_authority
from shop.phone.lan.keeping import Folder
from shop.phone.lan.readying import Asked, ready, renewed
from shop.phone.management.commands import lan
from tests.phone.test_authority import accepts

ROOT = Path(__file__).resolve().parents[2]
WITHIN_S = 180
# In place of the server: says when it is told to read its certificate again.
SERVER = """
import signal, sys
signal.signal(signal.SIGHUP, lambda *_: print("told", flush=True))
print("open", flush=True)
while True:
    signal.pause()
"""


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    """Of a shop that was last started a year ago: 27 days are left of its leaf."""
    folder = Folder(tmp_path / "lan")
    then = datetime.now(UTC) - timedelta(days=369)
    ready(folder, Asked("shop.lan", 8443, "192.168.1.20", "works"), then)
    return folder


@pytest.fixture
def shop() -> Iterator[subprocess.Popen[str]]:
    with subprocess.Popen(
        [sys.executable, "-c", SERVER], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout
        assert process.stdout.readline() == "open\n"
        yield process
        process.kill()


@contextmanager
def beside(
    folder: Folder, shop: subprocess.Popen[str], *words: str
) -> Iterator[subprocess.Popen[str]]:
    """The process, until the block ends."""
    around = {
        **os.environ,
        "HEELCAP_DATA": str(folder.path.parent),
        "HEELCAP_ADDRESS": "https://shop.lan:8443",
        "HEELCAP_SIDE_ADDRESS": "http://shop.lan:8080",
    }
    process = subprocess.Popen(
        [sys.executable, "manage.py", "lan", "beside", "--server", str(shop.pid), *words],
        cwd=ROOT,
        env=around,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def said(process: subprocess.Popen[str]) -> str:
    """What it said from here on, once it has gone."""
    return process.communicate(timeout=WITHIN_S)[0]


def until(so: Callable[[], bool]) -> None:
    end = time.monotonic() + WITHIN_S
    while not so():
        assert time.monotonic() < end, "it does not come about"
        time.sleep(0.1)


def free_port() -> int:
    with closing(socket.create_server(("127.0.0.1", 0))) as one:
        port: int = one.getsockname()[1]
        return port


def test_a_leaf_that_ends_soon_is_renewed_and_the_server_told_once(
    folder: Folder, shop: subprocess.Popen[str]
) -> None:
    first, own = folder.leaf(), folder.authority()
    assert first
    assert own
    with beside(folder, shop, "--every", "0.5") as one:
        assert shop.stdout
        assert shop.stdout.readline() == "told\n"
        made = folder.leaf()
        assert made
        assert made.until > first.until + timedelta(days=300)
        assert accepts(own, made, "shop.lan", datetime.now(UTC))
        time.sleep(3)  # it looks again, and finds nothing to do
        shop.kill()
        shop.wait()
        assert said(one) == f"The certificate was renewed, good until {made.until:%Y-%m-%d}.\n"
    assert shop.stdout.read() == ""


def test_what_stands_in_the_way_is_said_and_the_page_goes_on(
    folder: Folder, shop: subprocess.Popen[str]
) -> None:
    port = free_port()
    with beside(folder, shop, "--every", "0.5", "--side-port", str(port)) as one:
        until(lambda: _answers(port))
        folder.authority_file.unlink()
        assert one.stdout
        told = [one.stdout.readline()]
        while "not renewed" not in told[-1]:  # it may have been renewed just before
            told.append(one.stdout.readline())
            assert told[-1], told
        assert "has lost its authority" in told[-1]
        assert _answers(port)


def test_a_certificate_that_ends_with_the_authority_is_said_once_and_the_server_left_alone(
    tmp_path: Path, shop: subprocess.Popen[str]
) -> None:
    folder = Folder(tmp_path / "lan")
    now = datetime.now(UTC)
    folder.keep_first_authority(new_authority(["shop.lan"], now - CA_LIFE + timedelta(days=20)))
    asked = Asked("shop.lan", 8443, "192.168.1.20", "works")
    ready(folder, asked, now - timedelta(days=100))
    last = folder.leaf()
    assert last
    with beside(folder, shop, "--every", "0.5") as one:
        assert one.stdout
        assert one.stdout.readline().startswith(
            f"The certificate was not renewed: It ends on {last.until:%Y-%m-%d}, and so does"
        )
        time.sleep(3)  # it looks again, and has nothing new to say
        shop.kill()
        shop.wait()
        assert said(one) == ""
    assert shop.stdout
    assert shop.stdout.read() == ""
    assert folder.server_file.read_bytes() == last.pem


def test_a_port_that_is_taken_keeps_nothing_from_being_renewed(
    folder: Folder, shop: subprocess.Popen[str]
) -> None:
    taken = socket.create_server(("127.0.0.1", 0))
    port = taken.getsockname()[1]
    with closing(taken), beside(folder, shop, "--every", "0.5", "--side-port", str(port)) as one:
        assert one.stdout
        assert one.stdout.readline().startswith(f"No phone can be set up: port {port} gives")
        assert shop.stdout
        assert shop.stdout.readline() == "told\n"
        assert one.stdout.readline().startswith("The certificate was renewed, good until")
        taken.close()
        assert one.stdout.readline() == f"Phones can be set up: port {port} was free again.\n"
        assert _answers(port)
        shop.kill()
        shop.wait()
        assert said(one) == "", "it was said once"


def test_a_server_that_goes_while_it_is_renewed_is_left_alone(
    folder: Folder, shop: subprocess.Popen[str], settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.LAN_DIR = folder.path

    def meanwhile(*asked: Any) -> Pair | None:
        shop.kill()
        shop.wait()
        return renewed(*asked)

    monkeypatch.setattr(lan, "renewed", meanwhile)
    out = io.StringIO()
    call_command("lan", "beside", "--server", str(shop.pid), "--every", "0", stdout=out)
    made = folder.leaf()
    assert made
    assert out.getvalue() == f"The certificate was renewed, good until {made.until:%Y-%m-%d}.\n"


def test_it_goes_when_the_server_has_gone(folder: Folder, shop: subprocess.Popen[str]) -> None:
    port = free_port()
    with beside(folder, shop, "--side-port", str(port)) as one:
        until(lambda: _answers(port))
        shop.send_signal(signal.SIGKILL)
        shop.wait()
        assert said(one) == ""
    assert not _answers(port)


def _answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
            return b"Heelcap" in answer.read()
    except OSError:
        return False
