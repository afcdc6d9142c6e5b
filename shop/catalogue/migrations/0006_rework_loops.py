from decimal import Decimal

import django.core.validators
import django.db.models.deletion
from django.db import migrations, models

import shop.catalogue.models.loops


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0005_long_waits_are_holds")]

    operations = [
        migrations.CreateModel(
            name="Loop",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "key",
                    models.CharField(help_text="Its short name: bridge lift.", max_length=24),
                ),
                ("title", models.CharField(max_length=60)),
                (
                    "triggers",
                    models.CharField(help_text="What was seen or measured.", max_length=200),
                ),
                (
                    "families",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text="The families of defects that lead here.",
                        validators=[shop.catalogue.models.loops.are_families],
                    ),
                ),
                (
                    "work",
                    models.CharField(help_text="What is done, as a short order.", max_length=300),
                ),
                (
                    "station",
                    models.ForeignKey(
                        help_text="Where it is repaired.",
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="loops",
                        to="catalogue.station",
                    ),
                ),
                (
                    "redo",
                    models.CharField(
                        blank=True,
                        help_text="Operations and checks done again after it: G20 G30 G40.",
                        max_length=120,
                    ),
                ),
                (
                    "minutes",
                    models.PositiveSmallIntegerField(
                        help_text="Usual touch minutes of the repair."
                    ),
                ),
                (
                    "dry_h",
                    models.PositiveSmallIntegerField(
                        default=0, help_text="Hours the repair itself dries at least."
                    ),
                ),
                (
                    "per_mm",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        help_text=(
                            "So many hours for each layer of this depth in mm; "
                            "empty: whatever the depth."
                        ),
                        max_digits=5,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(Decimal("0.01"))],
                    ),
                ),
                (
                    "most_h",
                    models.PositiveSmallIntegerField(
                        blank=True, help_text="Hours it dries at most, however deep.", null=True
                    ),
                ),
                (
                    "keeps_hold",
                    models.BooleanField(
                        default=False,
                        help_text="Strings stay at pitch: days in the case only stand still.",
                    ),
                ),
                (
                    "unpairs",
                    models.BooleanField(
                        default=False, help_text="Neck and body may come apart for good by it."
                    ),
                ),
                (
                    "active",
                    models.BooleanField(default=True, help_text="Off: not to be chosen any more."),
                ),
            ],
            options={
                "verbose_name": "rework loop",
                "ordering": ["key"],
                "constraints": [
                    models.UniqueConstraint(fields=["key"], name="loop_key_once"),
                    models.CheckConstraint(
                        condition=models.Q(minutes__gt=0) | models.Q(minutes__isnull=True),
                        name="loop_minutes_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(per_mm__gt=0) | models.Q(per_mm__isnull=True),
                        name="loop_per_mm_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(per_mm__isnull=True) | models.Q(dry_h__gt=0),
                        name="loop_layers_dry",
                        violation_error_message="Say how many hours each layer dries.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(most_h__isnull=True)
                        | models.Q(most_h__gte=models.F("dry_h")),
                        name="loop_most_not_below_least",
                        violation_error_message=(
                            "It dries longer at least than at most. Change one."
                        ),
                    ),
                ],
            },
        ),
    ]
