"""The printers of the shop, and what was asked of the press."""

from typing import ClassVar

import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

SHEETS = [("single", "One to a page"), ("a4", "Many on A4"), ("letter", "Many on Letter")]
EDGES = [("long", "long edge"), ("short", "short edge"), ("none", "one side only")]


def offset(where: str) -> "models.DecimalField[str, str]":
    least = django.core.validators.MinValueValidator(-10)
    most = django.core.validators.MaxValueValidator(10)
    return models.DecimalField(
        max_digits=4, decimal_places=1, default=0, validators=[least, most], help_text=where
    )


class Migration(migrations.Migration):
    initial = True

    dependencies: ClassVar = [migrations.swappable_dependency(settings.AUTH_USER_MODEL)]

    operations: ClassVar = [
        migrations.CreateModel(
            name="Printer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=40)),
                ("sheet", models.CharField(max_length=8, choices=SHEETS, default="single")),
                ("edge", models.CharField(max_length=5, choices=EDGES, default="long")),
                ("right_mm", offset("Front, to the right.")),
                ("down_mm", offset("Front, down.")),
                ("back_right_mm", offset("Back as it lies before you, to the right.")),
                ("back_down_mm", offset("Back as it lies before you, down.")),
            ],
            options={
                "ordering": ["name"],
                "constraints": [models.UniqueConstraint(fields=["name"], name="printer_once")],
            },
        ),
        migrations.CreateModel(
            name="Job",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(help_text="Made by the phone: the same key is the same print.")),
                ("form", models.CharField(max_length=16)),
                ("names", models.JSONField(help_text="Serials or other names, in the order asked.")),
                ("sheet", models.CharField(max_length=8, choices=SHEETS)),
                ("first", models.PositiveSmallIntegerField(default=0, help_text="Places used on sheet 1.")),
                ("edge", models.CharField(max_length=5, choices=EDGES)),
                ("reason", models.CharField(max_length=200, blank=True)),
                ("badge", models.CharField(max_length=8)),
                ("station", models.CharField(max_length=4, blank=True)),
                ("device", models.CharField(max_length=40, blank=True)),
                ("claimed_at", models.DateTimeField(null=True)),
                ("asked_at", models.DateTimeField()),
                (
                    "state",
                    models.CharField(
                        max_length=9,
                        choices=[
                            ("waiting", "waiting"),
                            ("drawing", "drawing"),
                            ("recording", "recording"),
                            ("done", "done"),
                            ("stopped", "stopped"),
                        ],
                        default="waiting",
                    ),
                ),
                ("drawn", models.PositiveIntegerField(default=0, help_text="How many of the names so far.")),
                ("beat_at", models.DateTimeField(null=True, help_text="When the press last gave a sign.")),
                ("stop_asked", models.BooleanField(default=False)),
                ("done_at", models.DateTimeField(null=True)),
                ("refused", models.JSONField(default=list, help_text="Pairs of a name and why it is missing.")),
                ("sheets", models.PositiveIntegerField(default=0, help_text="Pages of the finished PDF.")),
                (
                    "asked_by",
                    models.ForeignKey(
                        settings.AUTH_USER_MODEL,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                    ),
                ),
                (
                    "printer",
                    models.ForeignKey(
                        "paper.printer",
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                    ),
                ),
            ],
            options={
                "ordering": ["-asked_at", "-id"],
                "constraints": [models.UniqueConstraint(fields=["key"], name="job_key_once")],
            },
        ),
    ]
