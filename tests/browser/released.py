"""A shop whose server a test stops, freezes, starts again, or brings a new release to, always at
the same address, as phones know it."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

from tests.browser.shop import ROOT, Furnished, Shop, opened, surroundings

STARTS_WITHIN_S = 60


class Machine:
    """The shop's machine. ``root`` is the release that it runs, with static files of its own."""

    def __init__(self, shop: Shop, port: int) -> None:
        self.shop, self.port = shop, port
        self.root = ROOT
        self._server: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return self.shop.address

    def start(self, **environment: str) -> None:
        """Open the shop, in a group of processes of its own."""
        serve = [sys.executable, "-m", "granian", "--interface", "wsgi", "--host", "127.0.0.1"]
        serve += ["--port", str(self.port), "--workers", "1", "--blocking-threads", "4", "--no-ws"]
        known = surroundings(self.shop.data, self.shop.database, self.address)
        with (self.shop.data / "machine.log").open("w") as log:
            self._server = subprocess.Popen(
                [*serve, "shop.wsgi:application"],
                cwd=self.root,
                env=known | environment,
                stdout=log,
                stderr=subprocess.STDOUT,
                start_new_session=True,
            )
        until = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(f"{self.address}/sw.js", timeout=5).close()
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise AssertionError((self.shop.data / "machine.log").read_text())

    def signal(self, what: signal.Signals) -> None:
        assert self._server is not None
        os.killpg(self._server.pid, what)

    def stop(self) -> None:
        """The power goes: nothing is told to anybody."""
        if self._server is not None and self._server.poll() is None:
            self.signal(signal.SIGKILL)
            self._server.wait()

    def release(self, place: Path, name: str, more: str) -> None:
        """Bring a new release, whose static file ``name`` has ``more`` at its end; its files are
        gathered beside those of the release before, as shop/run does."""
        for part in ("shop", "templates", "static"):
            shutil.copytree(
                ROOT / part, place / part, ignore=shutil.ignore_patterns("node_modules")
            )
        shutil.copy2(ROOT / "manage.py", place)
        with (place / "static" / name).open("a") as file:
            file.write(more)
        self.root = place
        subprocess.run(
            [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity", "0",
             "--ignore", "node_modules", "--ignore", "package*.json"],
            cwd=place,
            env=surroundings(self.shop.data, self.shop.database, self.address),
            check=True,
            capture_output=True,
        )  # fmt: skip


@contextmanager
def machine(furnished: Furnished, place: Path) -> Iterator[Machine]:
    """A shop of one's own, open at an address of its own; its static files are its own too."""
    with closing(socket.socket()) as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
    # What is opened here keeps the data; nobody asks its server.
    with opened(furnished, place) as shop:
        (place / "static").unlink()
        shutil.copytree(furnished.data / "static", place / "static")
        one = Machine(replace(shop, address=f"http://localhost:{port}"), port)
        one.start()
        try:
            yield one
        finally:
            one.stop()
