"""The database's own guard of the ledger: counts move with movements and in no other way.

A movement is taken only when it follows from the counts of its lot as they stand; with it
the database moves those counts. It refuses to move them otherwise, to make a lot that
already has some, and to change or take away a movement. So on hand is the sum of the
movements at every moment, whoever writes.

The guard is down while migrations run and up again after them: SQLite loses a table's triggers
when a migration builds the table anew, and does not build one that other triggers name.
"""

# The names put into these statements are the models' own.
# ruff: noqa: S608

from __future__ import annotations

from typing import Any, Final

from django.db import connection

from shop.database.triggers import run
from shop.stock.models import Lot, Movement

MOVES: Final = Movement._meta.db_table
LOTS: Final = Lot._meta.db_table
COUNTS: Final = ("on_hand", "reserved", "out")

KEPT: Final = "The ledger keeps every movement as it was written. Add one that undoes it."
ASIDE: Final = "The counts of a lot move with a movement of the ledger and not by themselves."
ASTRAY: Final = "This movement does not follow from the counts of its lot."

_FOLLOWS: Final = (
    f"EXISTS (SELECT 1 FROM {LOTS} WHERE id = NEW.lot_id AND "
    + " AND ".join(f"{one} + NEW.{one} = NEW.{one}_after" for one in COUNTS)
    + ")"
)
_MOVE: Final = (
    f"UPDATE {LOTS} SET "
    + ", ".join(f"{one} = NEW.{one}_after" for one in COUNTS)
    + " WHERE id = NEW.lot_id"
)
_CHANGED: Final = "(" + " OR ".join(f"NEW.{one} <> OLD.{one}" for one in COUNTS) + ")"
_AS_MOVED: Final = (
    f"EXISTS (SELECT 1 FROM {MOVES} WHERE id = "
    f"(SELECT MAX(id) FROM {MOVES} WHERE lot_id = NEW.id) AND "
    + " AND ".join(f"{one}_after = NEW.{one}" for one in COUNTS)
    + ")"
)
_SOME: Final = "(" + " OR ".join(f"NEW.{one} <> 0" for one in COUNTS) + ")"

_SQLITE: Final = {
    "moves_kept_u": f"BEFORE UPDATE ON {MOVES} BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "moves_kept_d": f"BEFORE DELETE ON {MOVES} BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    # What REPLACE would take away is unseen by the guard of deletes.
    "moves_kept_r": f"BEFORE INSERT ON {MOVES} WHEN EXISTS "
    f"(SELECT 1 FROM {MOVES} WHERE id = NEW.id) "
    f"BEGIN SELECT RAISE(ABORT, '{KEPT}'); END",
    "moves_follow": f"BEFORE INSERT ON {MOVES} WHEN NOT {_FOLLOWS} "
    f"BEGIN SELECT RAISE(ABORT, '{ASTRAY}'); END",
    "moves_move": f"AFTER INSERT ON {MOVES} BEGIN {_MOVE}; END",
    "lots_new": f"BEFORE INSERT ON {LOTS} WHEN {_SOME} BEGIN SELECT RAISE(ABORT, '{ASIDE}'); END",
    "lots_aside": f"BEFORE UPDATE OF {', '.join(COUNTS)} ON {LOTS} "
    f"WHEN {_CHANGED} AND NOT {_AS_MOVED} BEGIN SELECT RAISE(ABORT, '{ASIDE}'); END",
}
_POSTGRES: Final = {
    "moves_kept_u": (f"BEFORE UPDATE ON {MOVES} FOR EACH ROW", f"RAISE EXCEPTION '{KEPT}';"),
    "moves_kept_d": (f"BEFORE DELETE ON {MOVES} FOR EACH ROW", f"RAISE EXCEPTION '{KEPT}';"),
    "moves_kept_t": (
        f"BEFORE TRUNCATE ON {MOVES} FOR EACH STATEMENT", f"RAISE EXCEPTION '{KEPT}';"
    ),
    "moves_follow": (
        f"BEFORE INSERT ON {MOVES} FOR EACH ROW",
        f"IF NOT {_FOLLOWS} THEN RAISE EXCEPTION '{ASTRAY}'; END IF; RETURN NEW;",
    ),
    "moves_move": (f"AFTER INSERT ON {MOVES} FOR EACH ROW", f"{_MOVE}; RETURN NULL;"),
    "lots_new": (
        f"BEFORE INSERT ON {LOTS} FOR EACH ROW",
        f"IF {_SOME} THEN RAISE EXCEPTION '{ASIDE}'; END IF; RETURN NEW;",
    ),
    "lots_aside": (
        f"BEFORE UPDATE OF {', '.join(COUNTS)} ON {LOTS} FOR EACH ROW",
        f"IF {_CHANGED} AND NOT {_AS_MOVED} THEN RAISE EXCEPTION '{ASIDE}'; END IF; RETURN NEW;",
    ),
}  # fmt: skip


def put_up(**_: Any) -> None:
    """Put the guard up where the ledger's tables are there; twice is as good as once."""
    if not _there():
        return
    if connection.vendor == "postgresql":
        for name, (when, what) in _POSTGRES.items():
            does = f"stock_{name}()"
            head = f"CREATE OR REPLACE FUNCTION {does} RETURNS trigger LANGUAGE plpgsql AS $$ "
            watch = f"CREATE OR REPLACE TRIGGER stock_{name} {when} EXECUTE FUNCTION {does}"
            run([f"{head}BEGIN {what} END $$", watch])
    else:
        run([f"CREATE TRIGGER IF NOT EXISTS stock_{name} {one}" for name, one in _SQLITE.items()])


def stand_aside(**_: Any) -> None:
    """Take the guard down while migrations build tables anew; :func:`put_up` follows them."""
    if _there():
        take_down()


def _there() -> bool:
    """Whether the ledger's tables are there, and of a release that counts all three."""
    if not {MOVES, LOTS} <= set(connection.introspection.table_names()):
        return False
    with connection.cursor() as cursor:
        columns = connection.introspection.get_table_description(cursor, LOTS)
    return {*COUNTS} <= {one.name for one in columns}


def take_down() -> None:
    """Take the guard down: for a test that tampers, and for nothing else."""
    if connection.vendor == "postgresql":
        tables = {name: LOTS if name.startswith("lots") else MOVES for name in _POSTGRES}
        drops = [f"DROP TRIGGER IF EXISTS stock_{name} ON {on}" for name, on in tables.items()]
        # No trigger is dropped while keys of the same transaction are still to be checked.
        run(["SET CONSTRAINTS ALL IMMEDIATE", *drops, "SET CONSTRAINTS ALL DEFERRED"])
    else:
        run([f"DROP TRIGGER IF EXISTS stock_{name}" for name in _SQLITE])


def is_up() -> bool:
    """Whether every trigger of the guard stands: a migration that failed leaves it down."""
    if connection.vendor == "postgresql":
        asked, names = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal", list(_POSTGRES)
    else:
        asked, names = "SELECT name FROM sqlite_master WHERE type = 'trigger'", list(_SQLITE)
    with connection.cursor() as cursor:
        cursor.execute(asked)
        there = {name for (name,) in cursor.fetchall()}
    return {f"stock_{name}" for name in names} <= there
