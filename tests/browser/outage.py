"""The server of an open shop, taken away and given back as outages do it."""

from __future__ import annotations

import os
import signal
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from tests.browser.shop import ROOT, STARTS_WITHIN_S, Furnished, Shop, opened


@dataclass
class Outage:
    """A shop whose server can be killed, frozen and brought back on the same data."""

    shop: Shop
    _command: list[str] = field(default_factory=list)
    _surroundings: dict[str, str] = field(default_factory=dict)
    _again: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def kill(self) -> None:
        """As a power cut: no word to any process, nothing written after it."""
        self._command, self._surroundings = self._as_started()
        for pid in self._family():
            os.kill(pid, signal.SIGKILL)

    def restart(self) -> None:
        """The same server on the same data and the same port."""
        with (self.shop.data / "again.log").open("w") as log:
            again = subprocess.Popen(
                self._command,
                cwd=ROOT,
                env=self._surroundings,
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        self._again.append(again)
        self._wait_until_open()

    def freeze(self) -> None:
        """The sockets stay open and nothing answers."""
        for pid in self._family():
            os.kill(pid, signal.SIGSTOP)

    def thaw(self) -> None:
        for pid in self._family():
            os.kill(pid, signal.SIGCONT)

    def end(self) -> None:
        for one in self._again:
            one.terminate()
            one.wait(timeout=30)

    def _family(self) -> list[int]:
        """The server's own process and its workers."""
        parent = self._parent()
        children = [
            int(one.parent.name)
            for one in Path("/proc").glob("[0-9]*/stat")
            if _parent_of(one) == parent
        ]
        return [parent, *children]

    def _parent(self) -> int:
        port = str(urlsplit(self.shop.address).port)
        for one in Path("/proc").glob("[0-9]*/cmdline"):
            words = _read(one).split(b"\0")
            pid = int(one.parent.name)
            mine = _parent_of(one.with_name("stat")) == os.getpid()
            if mine and b"granian" in words and port.encode() in words:
                return pid
        raise AssertionError(f"no server of this test on port {port}")

    def _as_started(self) -> tuple[list[str], dict[str, str]]:
        place = Path("/proc") / str(self._parent())
        command = [one.decode() for one in _read(place / "cmdline").split(b"\0") if one]
        pairs = [one.decode() for one in _read(place / "environ").split(b"\0") if b"=" in one]
        named = [one.partition("=") for one in pairs]
        return command, {name: value for name, _, value in named}

    def _wait_until_open(self) -> None:
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(f"{self.shop.address}/sign-in/", timeout=5).close()
            except (urllib.error.URLError, ConnectionError):
                time.sleep(0.1)
            else:
                return
        raise AssertionError("The server did not open again.")


def _read(path: Path) -> bytes:
    """A file of a process; nothing once the process has gone."""
    try:
        return path.read_bytes()
    except (FileNotFoundError, ProcessLookupError, PermissionError):
        return b""


def _parent_of(stat: Path) -> int:
    """The parent of a process that is alive; 0 for one that is not."""
    state, parent, *_ = _read(stat).rpartition(b")")[2].split() or [b"Z", b"0"]
    return 0 if state == b"Z" else int(parent)


@contextmanager
def fragile(furnished: Furnished, data: Path) -> Iterator[Outage]:
    """A shop of its own that may lose its server."""
    with opened(furnished, data) as shop:
        outage = Outage(shop)
        try:
            yield outage
        finally:
            outage.end()
