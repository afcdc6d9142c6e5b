"""Panels with defects put on them, and what two inspectors called on each."""

from typing import ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

KEPT = django.db.models.deletion.PROTECT


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("floor", "0016_area_looks"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="PanelSet",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField(help_text="As it is called: set 3.")),
                ("words", models.CharField(help_text="What panels they are.", max_length=60)),
                (
                    "away",
                    models.BooleanField(
                        default=False, help_text="Put away: nobody looks at it any more."
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        db_index=False,
                        help_text="Who put the defects on it, and so cannot look at it.",
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
            ],
            options={
                "ordering": ["-number"],
                "constraints": [
                    models.UniqueConstraint(fields=["number"], name="panel_set_number_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="Panel",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(help_text="Set and number: 3-07.", max_length=16)),
                (
                    "number",
                    models.PositiveSmallIntegerField(help_text="Within its set, from 1."),
                ),
                (
                    "spots",
                    models.JSONField(
                        default=list, help_text="Of each defect its field, family and word."
                    ),
                ),
                (
                    "of",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=KEPT,
                        related_name="panels",
                        to="floor.panelset",
                    ),
                ),
            ],
            options={
                "ordering": ["of", "number"],
                "constraints": [
                    models.UniqueConstraint(fields=["name"], name="panel_name_once"),
                    models.UniqueConstraint(fields=["of", "number"], name="panel_number_once"),
                ],
            },
        ),
        migrations.CreateModel(
            name="PanelCall",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "token",
                    models.CharField(
                        help_text="One for all calls of a person on a set.", max_length=16
                    ),
                ),
                ("found", models.BooleanField(help_text="Whether a defect was called.")),
                ("at", models.DateTimeField()),
                (
                    "entry",
                    models.ForeignKey(
                        db_index=False, on_delete=KEPT, related_name="+", to="floor.entry"
                    ),
                ),
                (
                    "panel",
                    models.ForeignKey(
                        db_index=False, on_delete=KEPT, related_name="calls", to="floor.panel"
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=["panel", "token"], name="panel_call_once")
                ],
            },
        ),
    ]
