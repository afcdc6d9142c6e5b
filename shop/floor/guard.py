"""The database's own guard of the journal: it refuses to change a row or take one away.

The guard is put up again after every migration, because SQLite loses a table's triggers when
a migration builds the table anew.
"""

from __future__ import annotations

from typing import Any, Final

from django.db import connection

from shop.database.triggers import run
from shop.floor.models import Entry

TABLE: Final = Entry._meta.db_table
WORDS: Final = "The journal keeps every row as it was written. Add a row that corrects it."

# What the row to come would collide with: REPLACE takes it away, unseen by the guard of deletes.
_COLLIDES: Final = " OR ".join(
    f"EXISTS (SELECT 1 FROM {TABLE} WHERE {same})"  # noqa: S608 names of the model's own
    for same in (
        "id = NEW.id",
        "key = NEW.key",
        "instrument_id = NEW.instrument_id AND seq = NEW.seq",
        "instrument_id IS NULL AND NEW.instrument_id IS NULL AND seq = NEW.seq",
    )
)
_SQLITE: Final = {
    "update": f"BEFORE UPDATE ON {TABLE}",
    "delete": f"BEFORE DELETE ON {TABLE}",
    "replace": f"BEFORE INSERT ON {TABLE} WHEN {_COLLIDES}",
}
_POSTGRES: Final = {
    "update": f"BEFORE UPDATE ON {TABLE} FOR EACH ROW",
    "delete": f"BEFORE DELETE ON {TABLE} FOR EACH ROW",
    "truncate": f"BEFORE TRUNCATE ON {TABLE} FOR EACH STATEMENT",
}
_REFUSE: Final = f"""CREATE OR REPLACE FUNCTION {TABLE}_refuse() RETURNS trigger
    LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '{WORDS}'; END $$"""


def put_up(**_: Any) -> None:
    """Put the guard up where the journal's table is there; twice is as good as once."""
    if TABLE not in connection.introspection.table_names():
        return
    if connection.vendor == "postgresql":
        guards = [
            f"CREATE OR REPLACE TRIGGER {TABLE}_no_{what} {when} EXECUTE FUNCTION {TABLE}_refuse()"
            for what, when in _POSTGRES.items()
        ]
        run([_REFUSE, *guards])
    else:
        run(
            [
                f"CREATE TRIGGER IF NOT EXISTS {TABLE}_no_{what} {when} "
                f"BEGIN SELECT RAISE(ABORT, '{WORDS}'); END"
                for what, when in _SQLITE.items()
            ]
        )


def take_down() -> None:
    """Take the guard down: for a test that tampers, and for nothing else."""
    if connection.vendor == "postgresql":
        # No trigger is dropped while keys of the same transaction are still to be checked.
        drops = [f"DROP TRIGGER IF EXISTS {TABLE}_no_{what} ON {TABLE}" for what in _POSTGRES]
        run(["SET CONSTRAINTS ALL IMMEDIATE", *drops, "SET CONSTRAINTS ALL DEFERRED"])
    else:
        run([f"DROP TRIGGER IF EXISTS {TABLE}_no_{what}" for what in _SQLITE])
