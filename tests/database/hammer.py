"""One process of writers: ``python -m tests.database.hammer DATABASE NAME THREADS TURNS``.

Each thread writes its turns one straight after the other, each in its own transaction that
first reads, as recording a step does. Prints the number of turns that failed.
"""

from __future__ import annotations

import sys
import threading
from pathlib import Path
from typing import Any

import django
from django.conf import settings
from django.db import DatabaseError, connection, transaction


def use(database: Path) -> None:
    """Point Django at one SQLite file, opened as the shop opens its own."""
    engine: dict[str, Any] = {
        "ENGINE": "shop.database",
        "NAME": database,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
        },
    }
    settings.configure(DATABASES={"default": engine})
    django.setup()


def hammer(name: str, threads: int, turns: int) -> int:
    failed: list[str] = []
    start = threading.Barrier(threads)

    def write(writer: str) -> None:
        start.wait()
        for number in range(turns):
            try:
                with transaction.atomic(), connection.cursor() as cursor:
                    cursor.execute("SELECT count(*) FROM turn WHERE writer = %s", [writer])
                    cursor.execute(
                        "INSERT INTO turn (writer, number) VALUES (%s, %s)", [writer, number]
                    )
            except DatabaseError as trouble:
                failed.append(str(trouble))
        connection.close()

    workers = [threading.Thread(target=write, args=(f"{name}{one}",)) for one in range(threads)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    return len(failed)


if __name__ == "__main__":
    database, name, threads, turns = sys.argv[1:]
    use(Path(database))
    print(hammer(name, int(threads), int(turns)))  # noqa: T201
