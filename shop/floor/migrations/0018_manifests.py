"""Cartons with what was scanned when they were made up, and the lists carriers took them by."""

from typing import ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("floor", "0017_panels"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="Manifest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(help_text="As it is called: M-0001.", max_length=8)),
                ("carrier", models.CharField(max_length=40)),
                (
                    "counted",
                    models.PositiveSmallIntegerField(
                        help_text="Cartons, as a person counted them."
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="floor.entry",
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.UniqueConstraint(fields=["number"], name="manifest_number_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="Carton",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("label", models.CharField(help_text="The code on its label.", max_length=7)),
                (
                    "case",
                    models.CharField(
                        help_text="The code that was scanned on the case.", max_length=7
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="floor.entry",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cartons",
                        to="floor.instrument",
                    ),
                ),
                (
                    "manifest",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="cartons",
                        to="floor.manifest",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "indexes": [
                    models.Index(
                        condition=Q(("manifest__isnull", True)), fields=["at"], name="carton_here"
                    )
                ],
            },
        ),
    ]
