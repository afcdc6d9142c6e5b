"""Who signed what became of a defect is known without reading the journal: they know of it."""

from typing import Any, ClassVar

from django.db import migrations, models


def from_the_journal(apps: Any, _editor: Any) -> None:
    """What was decided before, by the rows that say so."""
    decided: dict[int, list[list[Any]]] = {}
    rows = apps.get_model("floor", "Entry").objects.filter(kind="decided", outcome="recorded")
    columns = ("instrument_id", "data", "who", "beside")
    for instrument, said, who, beside in rows.order_by("id").values_list(*columns):
        hands = [one for one in (who, beside) if one]
        decided.setdefault(instrument, []).append([said["number"], said["found_at"], hands])
    instruments = apps.get_model("floor", "Instrument").objects
    for instrument, them in decided.items():
        instruments.filter(pk=instrument).update(decided=them)


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0019_steps_that_stand")]

    operations: ClassVar = [
        migrations.AddField("instrument", "decided", models.JSONField(default=list)),
        migrations.RunPython(from_the_journal, migrations.RunPython.noop),
    ]
