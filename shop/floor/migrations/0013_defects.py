"""Defects, each with what became of it, and on the instrument those nobody has decided.

What was reported until now was sent on a loop at once: decided as it was noted, graded by
nobody. Those reports become defects too, as their journal rows say.
"""

from typing import Any, ClassVar

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q

KEPT = django.db.models.deletion.PROTECT


def as_their_rows_say(apps: Any, schema_editor: Any) -> None:
    """One of each report: the loop it began, or joined, is the last begun by then."""
    rows = apps.get_model("floor", "Entry").objects
    reworks = apps.get_model("floor", "Rework").objects
    defects = apps.get_model("floor", "Defect").objects
    for row in rows.filter(kind="defect", outcome="recorded").order_by("pk").iterator(2000):
        its_own = reworks.filter(instrument_id=row.instrument_id, entry_id__lte=row.pk)
        defects.create(
            instrument_id=row.instrument_id,
            number=row.seq,
            word=row.data["word"],
            words=row.data["words"],
            found_at=row.data["found_at"],
            found_by_id=row.by_id,
            at=row.at,
            disposition="rework",
            decided_at=row.at,
            decided_by_id=row.by_id,
            rework=its_own.order_by("entry_id").last(),
            entry_id=row.pk,
        )


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("floor", "0012_room_sensor"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations: ClassVar = [
        migrations.AddField("instrument", "defects", models.JSONField(default=list)),
        migrations.CreateModel(
            name="Defect",
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
                ("family", models.CharField(blank=True, max_length=12)),
                (
                    "word",
                    models.CharField(help_text="The defect, in its one word.", max_length=24),
                ),
                (
                    "grade",
                    models.PositiveSmallIntegerField(
                        default=0, help_text="1 critical to 4 note; 0: nobody graded it."
                    ),
                ),
                (
                    "zone",
                    models.PositiveSmallIntegerField(default=0, help_text="1 to 16; 0: not said."),
                ),
                (
                    "view",
                    models.CharField(
                        blank=True, help_text="The drawing it was tapped on.", max_length=12
                    ),
                ),
                (
                    "x_mm",
                    models.DecimalField(
                        decimal_places=1,
                        help_text="From the view's reference point.",
                        max_digits=6,
                        null=True,
                    ),
                ),
                (
                    "y_mm",
                    models.DecimalField(
                        decimal_places=1,
                        help_text="From the view's reference point.",
                        max_digits=6,
                        null=True,
                    ),
                ),
                (
                    "words",
                    models.CharField(blank=True, help_text="How it looks.", max_length=200),
                ),
                (
                    "found_at",
                    models.CharField(blank=True, help_text="Operation or station.", max_length=4),
                ),
                ("at", models.DateTimeField()),
                (
                    "disposition",
                    models.CharField(
                        blank=True,
                        help_text="What becomes of it; empty while that is open.",
                        max_length=40,
                    ),
                ),
                ("decided_at", models.DateTimeField(null=True)),
                (
                    "second",
                    models.CharField(
                        blank=True, help_text="Badge that decided with them.", max_length=8
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200)),
                (
                    "department",
                    models.CharField(
                        blank=True,
                        help_text="Neck or body, where it goes back to its maker.",
                        max_length=4,
                    ),
                ),
                (
                    "decided_by",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
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
                    "found_by",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=KEPT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=KEPT,
                        related_name="defects_noted",
                        to="floor.instrument",
                    ),
                ),
                (
                    "rework",
                    models.ForeignKey(
                        null=True, on_delete=KEPT, related_name="defects", to="floor.rework"
                    ),
                ),
            ],
            options={
                "ordering": ["instrument", "number"],
                "indexes": [
                    models.Index(
                        fields=["instrument"],
                        condition=Q(disposition__in=("", "hold for decision")),
                        name="defect_open",
                    ),
                    models.Index(fields=["at"], name="defect_when"),
                ],
                "constraints": [
                    models.UniqueConstraint(fields=["instrument", "number"], name="defect_once"),
                    models.CheckConstraint(condition=Q(grade__lte=4), name="defect_grade_is_known"),
                    models.CheckConstraint(condition=Q(zone__lte=16), name="defect_zone_is_known"),
                    models.CheckConstraint(
                        condition=Q(disposition="", decided_at__isnull=True)
                        | (~Q(disposition="") & Q(decided_at__isnull=False)),
                        name="defect_decided_at_a_moment",
                    ),
                    models.CheckConstraint(
                        condition=Q(x_mm__isnull=True, y_mm__isnull=True)
                        | Q(x_mm__isnull=False, y_mm__isnull=False),
                        name="defect_place_is_whole",
                    ),
                ],
            },
        ),
        migrations.AlterField(
            "photo",
            "view",
            models.CharField(help_text="front, back or spot", max_length=5),
        ),
        migrations.RunPython(as_their_rows_say, migrations.RunPython.noop),
    ]
