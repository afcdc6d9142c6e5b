"""What inspectors answer of the checklist, an area a row."""

from typing import ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

KEPT = django.db.models.deletion.PROTECT


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("floor", "0015_steps_done_again"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="AreaLook",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "number",
                    models.PositiveIntegerField(help_text="Its row in the instrument's journal."),
                ),
                (
                    "operation",
                    models.CharField(help_text="The look it was answered at.", max_length=4),
                ),
                ("area", models.PositiveSmallIntegerField(help_text="1 to 16.")),
                ("answers", models.JSONField(help_text="By the key of the item.")),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=KEPT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        db_index=False, on_delete=KEPT, related_name="+", to="floor.entry"
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        db_index=False, on_delete=KEPT, related_name="+", to="floor.instrument"
                    ),
                ),
            ],
            options={
                "ordering": ["instrument", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=["instrument", "number"], name="area_look_once"),
                ],
            },
        ),
    ]
