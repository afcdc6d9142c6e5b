"""When a step that stands was done is told by the index that finds it, and the row is not read.

Yields look that up for each step that was done again, and by spec for every instrument. Only
PostgreSQL keeps more in an index than it is searched by: what is unique, and the constraint in
the models, are as they were.
"""

from typing import Any, ClassVar

from django.db import migrations

BESIDE = "CREATE UNIQUE INDEX step_once_beside ON floor_step (instrument_id, operation_id)"
STANDS = "WHERE void_at IS NULL"


def _made_again(editor: Any, more: str) -> None:
    """Never without one: what is unique stays so meanwhile."""
    if editor.connection.vendor == "postgresql":
        editor.execute(f"{BESIDE} {more} {STANDS}")
        editor.execute("DROP INDEX step_once")
        editor.execute("ALTER INDEX step_once_beside RENAME TO step_once")


def with_its_moment(_apps: Any, editor: Any) -> None:
    _made_again(editor, "INCLUDE (at)")


def as_before(_apps: Any, editor: Any) -> None:
    _made_again(editor, "")


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0021_area_told_by")]

    operations: ClassVar = [migrations.RunPython(with_its_moment, as_before)]
