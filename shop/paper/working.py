"""Who does what was put off: a process of its own, one at a time on a machine.

On SQLite the shop starts it whenever there is something to do, and it ends by itself. On
PostgreSQL one stays beside the server. ``PRINT_WORKER`` says which.
"""

from __future__ import annotations

import fcntl
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Final

from django.conf import settings

NICE: Final = 10  # a scan goes before a print
LOG: Final = "print-worker.log"

log = logging.getLogger(__name__)


def start() -> None:
    """See that somebody does what waits, where the shop is to see to it itself.

    Called once what waits is in the database for good. A process that cannot be started is
    logged: the work waits, and its page offers to go on.
    """
    if settings.PRINT_WORKER != "start":
        return
    try:
        with (settings.DATA_DIR / LOG).open("a") as told:
            worker = subprocess.Popen(  # noqa: S603 - this program's own command
                [sys.executable, str(settings.BASE_DIR / "manage.py"), "print_worker"],
                cwd=settings.BASE_DIR,
                stdin=subprocess.DEVNULL,
                stdout=told,
                stderr=told,
                start_new_session=True,
            )
    except OSError:
        log.exception("The print worker was not started.")
        return
    # Its end is waited for by somebody, or it stays in the list of processes.
    threading.Thread(target=worker.wait, name="print worker", daemon=True).start()


@contextmanager
def turn(*, stay: bool) -> Iterator[bool]:
    """The one place at the press of this machine, waited for.

    Behind whoever has it one other waits at most, who will find all that was put off until
    then. A third is not needed: it gets False at once, unless it is to ``stay``.
    """
    with ExitStack() as places:
        with ExitStack() as line:
            if not line.enter_context(_held("print-worker.next", wait=stay)):
                yield False
                return
            places.enter_context(_held("print-worker.lock", wait=True))
        yield True


@contextmanager
def _held(name: str, *, wait: bool) -> Iterator[bool]:
    """A lock on a file beside the data; the system lets go of it when its process dies."""
    path: Path = settings.DATA_DIR / name
    place = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(place, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
        got = True
    except BlockingIOError:
        got = False
    try:
        yield got
    finally:
        os.close(place)
