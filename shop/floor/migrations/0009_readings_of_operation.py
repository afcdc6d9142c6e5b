"""A value says at which operation it was measured, as its row of the journal does."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import migrations, models
from django.db.models import OuterRef, Subquery, Value
from django.db.models.fields.json import KT
from django.db.models.functions import Coalesce


def as_their_rows_say(apps: Any, schema_editor: Any) -> None:
    said = apps.get_model("floor", "Entry").objects.filter(pk=OuterRef("entry_id"))
    named = said.annotate(measured_at=KT("data__operation")).values("measured_at")
    found = Coalesce(Subquery(named[:1]), Value(""), output_field=models.CharField())
    apps.get_model("floor", "Reading").objects.update(operation=found)


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0008_claims_by_when_they_came")]

    operations: ClassVar = [
        migrations.AddField(
            "reading",
            "operation",
            models.CharField(
                blank=True, default="", help_text="Where it was measured.", max_length=4
            ),
            preserve_default=False,
        ),
        migrations.RunPython(as_their_rows_say, migrations.RunPython.noop),
    ]
