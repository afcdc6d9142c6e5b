"""What passed the first time is counted along an index, and no step is read for it.

PostgreSQL looks at a row all the same until it was vacuumed. By itself it would do that when a
fifth of the table is new; here it does when a hundredth is, every few weeks.
"""

from typing import Any, ClassVar

from django.db import migrations, models
from django.db.models import Q


def sooner(_apps: Any, editor: Any) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute("ALTER TABLE floor_step SET (autovacuum_vacuum_insert_scale_factor = 0.01)")


def as_usual(_apps: Any, editor: Any) -> None:
    if editor.connection.vendor == "postgresql":
        editor.execute("ALTER TABLE floor_step RESET (autovacuum_vacuum_insert_scale_factor)")


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0018_manifests")]

    operations: ClassVar = [
        migrations.AddIndex(
            "step",
            models.Index(
                fields=["operation", "at"],
                condition=Q(void_at__isnull=True),
                name="step_stands",
            ),
        ),
        migrations.RunPython(sooner, as_usual),
    ]
