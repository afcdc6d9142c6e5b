"""``manage.py lan``: https on the shop's own network. ``shop/run`` calls it."""

from __future__ import annotations

import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from shop.phone.lan.given import take_over
from shop.phone.lan.keeping import Folder
from shop.phone.lan.readying import Asked, Unready, ready, renewed
from shop.phone.lan.side import Side, server

LOOK_S: Final = 1  # how soon it ends after the server
RENEW_S: Final = 3600


class Command(BaseCommand):
    help = "Https on the shop's own network: what shop/run --lan and --cert stand on."
    requires_system_checks = ()

    def add_arguments(self, parser: CommandParser) -> None:
        ways = parser.add_subparsers(dest="way", required=True)
        own = ways.add_parser(
            "ready", help="make or renew what is needed; print the address, then what is new"
        )
        own.add_argument("--name", default="", help="what phones call this machine")
        own.add_argument("--port", type=int, required=True)
        own.add_argument("--here", default="", help="this machine's address on the network")
        given = ways.add_parser("take", help="take over a certificate that somebody else made")
        beside = ways.add_parser(
            "beside",
            help="renew while the server runs and serve the page for phones; ends with the server",
        )
        for one in (given, beside):
            one.add_argument("--cert", type=Path)
            one.add_argument("--key", type=Path)
        beside.add_argument("--server", type=int, required=True, help="its process")
        beside.add_argument("--side-port", type=int)
        beside.add_argument("--every", type=float, default=RENEW_S, help="seconds between looks")

    def handle(self, *args: Any, **options: Any) -> None:
        self.folder = Folder(settings.LAN_DIR)
        self.hindrances: dict[str, str] = {}  # what stands in the way of what, as it was said
        try:
            if options["way"] == "ready":
                self._ready(options)
            elif options["way"] == "take":
                self._take(options)
            else:
                self._beside(options)
        except Unready as why:
            self.stderr.write(str(why))
            sys.exit(1)

    def _ready(self, options: dict[str, Any]) -> None:
        asked = Asked(options["name"], options["port"], options["here"], socket.gethostname())
        made = ready(self.folder, asked, _now())
        self.stdout.write(made.origin)
        for one in made.told:
            self.stdout.write(one)

    def _take(self, options: dict[str, Any]) -> bool:
        host = urlsplit(settings.ADDRESS).hostname or ""
        return take_over(self.folder, options["cert"], options["key"], host, _now())

    def _renew(self, options: dict[str, Any]) -> str:
        """What was renewed, in a sentence, or nothing."""
        if options["cert"]:
            return "The certificate was renewed." if self._take(options) else ""
        made = renewed(self.folder, _now())
        return f"The certificate was renewed, good until {made.until:%Y-%m-%d}." if made else ""

    def _beside(self, options: dict[str, Any]) -> None:
        shut = options["side_port"] is not None
        looked = time.monotonic()
        while _reached(options["server"]):
            if shut:
                shut = not self._open_side(options["side_port"])
            time.sleep(LOOK_S)
            if time.monotonic() - looked < options["every"]:
                continue
            looked = time.monotonic()
            if told := self._told(lambda: self._renew(options)):
                # The server starts its processes anew, one by one; they read the new one. If it
                # has gone meanwhile, so does this.
                _reached(options["server"], signal.SIGHUP)
                self.stdout.write(told)
                self.stdout.flush()

    def _told(self, renew: Callable[[], str]) -> str:
        """What was renewed. What stands in the way is said, and tried again at the next look."""
        try:
            told = renew()
        except (Unready, OSError) as why:
            self._hindered("certificate", f"The certificate was not renewed: {why}")
            return ""
        self.hindrances.pop("certificate", None)
        return told

    def _hindered(self, what: str, text: str) -> None:
        """Says what stands in the way, once as long as it is the same."""
        if self.hindrances.get(what) != text:
            self.hindrances[what] = text
            self.stderr.write(text)
            self.stderr.flush()

    def _open_side(self, port: int) -> bool:
        """Whether phones get the page from now on. Raises ``Unready``."""
        try:
            authority = self.folder.authority()
        except ValueError:
            authority = None
        if authority is None:
            raise Unready(f"{self.folder.authority_file} is missing or damaged.")
        try:
            page = server(Side(authority, settings.ADDRESS, settings.SIDE_ADDRESS), port)
        except OSError as why:
            self._hindered(
                "page",
                f"No phone can be set up: port {port} gives “{why.strerror}”. Stop what uses it, "
                "and the page opens by itself; or start again with another --side-port. The "
                "certificate is renewed all the same.",
            )
            return False
        threading.Thread(target=page.serve_forever, name="side", daemon=True).start()
        if self.hindrances.pop("page", None):
            self.stdout.write(f"Phones can be set up: port {port} was free again.")
            self.stdout.flush()
        return True


def _reached(process: int, sent: int = 0) -> bool:
    """Whether a process is there to get a signal; 0 only asks."""
    try:
        os.kill(process, sent)
    except ProcessLookupError:
        return False
    return True


def _now() -> datetime:
    return datetime.now(UTC)
