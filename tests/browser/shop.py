"""A whole shop for a browser: its own data, its own server processes, its own address."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
from django.db import DEFAULT_DB_ALIAS, connections
from psycopg import sql

ROOT = Path(__file__).resolve().parents[2]
STARTS_WITHIN_S = 30


@dataclass(frozen=True)
class Furnished:
    """A shop that was set up once, to be copied for each test module."""

    data: Path
    database: str = ""  # the address of its PostgreSQL database; "" for SQLite

    def manage(self, *words: str) -> str:
        return manage(self.data, self.database, *words)


@dataclass(frozen=True)
class Shop:
    """A shop that is open at ``address``."""

    address: str
    data: Path
    database: str
    log: Path = field(repr=False)

    def rows(self, query: str, *values: object) -> list[tuple[Any, ...]]:
        """What the shop's own database holds; a value stands in the query as ``%s``."""
        if self.database:
            with psycopg.connect(self.database) as connection:
                return connection.execute(query, values).fetchall()
        import sqlite3

        with closing(sqlite3.connect(self.data / "heelcap.sqlite3")) as connection:
            return connection.execute(query.replace("%s", "?"), values).fetchall()

    def manage(self, *words: str) -> str:
        """What a command of manage.py prints, run in this shop."""
        return manage(self.data, self.database, *words, address=self.address)


def surroundings(data: Path, database: str, address: str = "") -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("HEELCAP_")}
    kept.pop("DATABASE_URL", None)
    kept |= {"HEELCAP_DATA": str(data), "DJANGO_SETTINGS_MODULE": "shop.settings"}
    if database:
        kept["DATABASE_URL"] = database
    if address:
        kept["HEELCAP_ADDRESS"] = address
    return kept


def manage(data: Path, database: str, *words: str, address: str = "") -> str:
    done = subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env=surroundings(data, database, address),
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, f"manage.py {' '.join(words)}:\n{done.stderr}"
    return done.stdout


@contextmanager
def furnished(data: Path) -> Iterator[Furnished]:
    """A shop with its demo workshop and its static files, on the database the tests run on."""
    with _database("furnished") as database:
        one = Furnished(data, database)
        one.manage("migrate", "--verbosity", "0")
        one.manage("load_demo", "--if-empty")
        one.manage(
            *("collectstatic", "--noinput", "--verbosity", "0"),
            *("--ignore", "node_modules", "--ignore", "package*.json"),
        )
        yield one


@contextmanager
def opened(furnished: Furnished, data: Path, **environment: str) -> Iterator[Shop]:
    """A copy of a furnished shop, open until the block ends. ``environment`` is added to it."""
    data.mkdir(parents=True, exist_ok=True)
    for kept in furnished.data.iterdir():
        if kept.name == "static":
            (data / "static").symlink_to(kept)
        elif kept.is_file():
            shutil.copy2(kept, data / kept.name)
    with _database("shop", furnished.database) as database:
        port = _free_port()
        shop = Shop(f"http://localhost:{port}", data, database, data / "server.log")
        with _serving(shop, port, environment):
            yield shop


@contextmanager
def _database(name: str, template: str = "") -> Iterator[str]:
    """A fresh PostgreSQL database where the tests run on PostgreSQL, else nothing."""
    settings = connections[DEFAULT_DB_ALIAS].settings_dict
    if "postgresql" not in settings["ENGINE"]:
        yield ""
        return
    server = f"postgresql://{settings['USER']}:{settings['PASSWORD']}@{settings['HOST']}:{settings['PORT']}"
    fresh = f"heelcap_{name}_{os.getpid()}_{time.monotonic_ns()}"
    pattern = urlsplit(template).path.lstrip("/") or "template0"
    with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
        connection.execute(
            sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(
                sql.Identifier(fresh), sql.Identifier(pattern)
            )
        )
    try:
        yield f"{server}/{fresh}"
    finally:
        with psycopg.connect(f"{server}/postgres", autocommit=True) as connection:
            connection.execute(
                sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(fresh))
            )


def _free_port() -> int:
    with closing(socket.socket()) as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port


@contextmanager
def _serving(shop: Shop, port: int, environment: Mapping[str, str]) -> Iterator[None]:
    """The production server as shop/run starts it."""
    serve = [sys.executable, "-m", "granian", "--interface", "wsgi", "--host", "127.0.0.1"]
    serve += ["--port", str(port), "--workers", "2", "--blocking-threads", "4", "--no-ws"]
    with shop.log.open("w") as log:
        server = subprocess.Popen(
            [*serve, "--workers-kill-timeout", "5", "shop.wsgi:application"],
            cwd=ROOT,
            env=surroundings(shop.data, shop.database, shop.address) | dict(environment),
            stdout=log,
            stderr=subprocess.STDOUT,
        )
    try:
        _wait_until_open(shop, server)
        yield
    finally:
        server.terminate()
        try:
            server.wait(timeout=15)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


def _wait_until_open(shop: Shop, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until and server.poll() is None:
        try:
            urllib.request.urlopen(f"{shop.address}/sign-in/", timeout=5).close()
        except urllib.error.HTTPError as answer:
            raise AssertionError(f"{answer.code} at sign-in:\n{shop.log.read_text()}") from answer
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError(f"The server did not open:\n{shop.log.read_text()}")
