"""The heights of frets, before they are levelled and after they are crowned."""

from typing import ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

KEPT = django.db.models.deletion.PROTECT


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("floor", "0010_gauges"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="FretHeights",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "stage",
                    models.CharField(
                        choices=[("before", "before levelling"), ("after", "after crowning")],
                        max_length=6,
                    ),
                ),
                (
                    "datum",
                    models.CharField(
                        choices=[("board", "the board"), ("straight", "a straight reference")],
                        help_text="What they were read from.",
                        max_length=8,
                    ),
                ),
                (
                    "heights",
                    models.JSONField(help_text="In mm: a list a line from the bass edge, by fret."),
                ),
                (
                    "flats",
                    models.JSONField(default=dict, help_text="Widest flat in mm, by fret."),
                ),
                (
                    "rockers",
                    models.JSONField(
                        default=dict, help_text="Gap under the rocker in mm, by fret."
                    ),
                ),
                ("operation", models.CharField(max_length=4)),
                ("at", models.DateTimeField()),
                (
                    "overdue",
                    models.BooleanField(
                        default=False, help_text="Its tool was not checked in time."
                    ),
                ),
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
                (
                    "tool",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=KEPT,
                        related_name="+",
                        to="floor.gauge",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "fret heights",
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["instrument", "-id"], name="frets_newest")],
            },
        ),
    ]
