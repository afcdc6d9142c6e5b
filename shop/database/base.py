"""The database wrapper Django loads for ``ENGINE = "shop.database"``."""

from __future__ import annotations

import fcntl
import os
import threading
from collections import deque
from pathlib import Path
from typing import Any, ClassVar

from django.db.backends.sqlite3 import base


class Turns:
    """A lock that threads get in the order they asked for it.

    Python's own lock is given to whoever asks at the right moment, which is often the
    thread that has just let it go.
    """

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._taken = False
        self._waiting: deque[threading.Lock] = deque()

    def acquire(self) -> None:
        with self._guard:
            if not self._taken:
                self._taken = True
                return
            call = threading.Lock()
            call.acquire()
            self._waiting.append(call)
        try:
            call.acquire()
        except BaseException:
            # Interrupted while waiting: leave the line, or pass on a turn just given.
            with self._guard:
                left = call in self._waiting
                if left:
                    self._waiting.remove(call)
            if not left:
                self.release()
            raise

    def release(self) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False


class Line:
    """The line of writers to one database file.

    Turns order the threads of this process; ``flock`` on ``<database>.line``
    orders the processes. The kernel drops the file lock when a process dies, so a crash
    never leaves the line blocked.
    """

    # By process too: a lock file opened before a fork would be one lock for both sides.
    _lines: ClassVar[dict[tuple[int, str], Line]] = {}
    _guard: ClassVar[threading.Lock] = threading.Lock()

    def __init__(self, path: Path | None) -> None:
        self._path = path
        self._turn = Turns()
        self._file: int | None = None

    @classmethod
    def of(cls, database: str) -> Line:
        with cls._guard:
            key = os.getpid(), database
            if key not in cls._lines:
                on_disk = "mode=memory" not in database and database != ":memory:"
                cls._lines[key] = cls(Path(f"{database}.line") if on_disk else None)
            return cls._lines[key]

    def enter(self) -> None:
        self._turn.acquire()
        try:
            if self._path is not None:
                if self._file is None:
                    self._file = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
                fcntl.flock(self._file, fcntl.LOCK_EX)
        except BaseException:
            self._turn.release()
            raise

    def leave(self) -> None:
        try:
            if self._file is not None:
                fcntl.flock(self._file, fcntl.LOCK_UN)
        finally:
            self._turn.release()


class DatabaseWrapper(base.DatabaseWrapper):
    """SQLite whose transactions begin in the order they were asked for."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._place: Line | None = None

    def _start_transaction_under_autocommit(self) -> None:
        line = Line.of(str(self.settings_dict["NAME"]))
        line.enter()
        try:
            super()._start_transaction_under_autocommit()  # type: ignore[misc]  # left out of the stubs
        except BaseException:
            line.leave()
            raise
        self._place = line

    def _leave_line(self) -> None:
        place, self._place = self._place, None
        if place is not None:
            place.leave()

    def _commit(self) -> None:
        try:
            super()._commit()  # type: ignore[misc]  # left out of the stubs
        finally:
            self._leave_line()

    def _rollback(self) -> None:
        try:
            super()._rollback()  # type: ignore[misc]  # left out of the stubs
        finally:
            self._leave_line()

    def _close(self) -> None:
        try:
            super()._close()  # type: ignore[misc]  # left out of the stubs
        finally:
            self._leave_line()
