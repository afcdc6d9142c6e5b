"""Measuring tools, their checks and studies; a reading says what it was taken with.

Readings taken before name no tool: nobody said it then.
"""

from typing import ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q

KEPT = django.db.models.deletion.PROTECT


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("floor", "0009_readings_of_operation"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="Gauge",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(help_text="On its tag.", max_length=7)),
                (
                    "name",
                    models.CharField(help_text="As it is called on the floor: G-01.", max_length=8),
                ),
                ("words", models.CharField(help_text="What it is: feeler set.", max_length=40)),
                (
                    "resolution_mm",
                    models.DecimalField(
                        decimal_places=4,
                        help_text="None where it reads no length.",
                        max_digits=6,
                        null=True,
                    ),
                ),
                (
                    "interval_days",
                    models.PositiveSmallIntegerField(help_text="From one check to the next."),
                ),
                (
                    "retired",
                    models.BooleanField(
                        default=False, help_text="Put away: nobody measures with it."
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(fields=["code"], name="gauge_code_once"),
                    models.UniqueConstraint(fields=["name"], name="gauge_name_once"),
                    models.CheckConstraint(
                        condition=Q(interval_days__gt=0), name="gauge_is_checked_again"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="GaugeCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("on", models.DateField(help_text="The day it was checked.")),
                (
                    "deviation_mm",
                    models.DecimalField(
                        decimal_places=4,
                        help_text="Shown less what it should have been.",
                        max_digits=7,
                        null=True,
                    ),
                ),
                ("passed", models.BooleanField()),
                ("note", models.CharField(blank=True, max_length=200)),
                ("at", models.DateTimeField(help_text="When it was entered.")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=KEPT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(on_delete=KEPT, related_name="+", to="floor.entry"),
                ),
                (
                    "gauge",
                    models.ForeignKey(
                        db_index=False, on_delete=KEPT, related_name="checks", to="floor.gauge"
                    ),
                ),
            ],
            options={
                "ordering": ["-on", "-id"],
                "indexes": [models.Index(fields=["gauge", "-on", "-id"], name="check_newest")],
            },
        ),
        migrations.CreateModel(
            name="GaugeStudy",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("what", models.CharField(help_text="What was measured.", max_length=60)),
                (
                    "tolerance_mm",
                    models.DecimalField(
                        decimal_places=4,
                        help_text="From the least that fits to the most.",
                        max_digits=7,
                    ),
                ),
                ("values", models.JSONField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=KEPT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(on_delete=KEPT, related_name="+", to="floor.entry"),
                ),
                (
                    "gauge",
                    models.ForeignKey(
                        db_index=False, on_delete=KEPT, related_name="studies", to="floor.gauge"
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "gauge studies",
                "ordering": ["-id"],
                "indexes": [models.Index(fields=["gauge", "-id"], name="study_newest")],
            },
        ),
        migrations.AddField(
            model_name="reading",
            name="tool",
            field=models.ForeignKey(
                db_index=False, null=True, on_delete=KEPT, related_name="+", to="floor.gauge"
            ),
        ),
        migrations.AddField(
            model_name="reading",
            name="overdue",
            field=models.BooleanField(default=False, help_text="Its tool was not checked in time."),
        ),
    ]
