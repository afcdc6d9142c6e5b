"""What an instrument is in the middle of, its loops, and the columns of the journal's chain.

The next migration fills the columns that have no default, and the one after it closes them.
"""

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q


def words(length: int) -> "models.CharField[str, str]":
    return models.CharField(max_length=length, blank=True, default="")


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0002_readings_photos_room_and_papers")]

    operations: ClassVar = [
        migrations.AddField("body", "scrapped_at", models.DateTimeField(null=True)),
        migrations.AddField("neck", "scrapped_at", models.DateTimeField(null=True)),
        migrations.AddField(
            "tag",
            "void_why",
            models.CharField(
                max_length=8,
                blank=True,
                default="",
                choices=[
                    ("lost", "lost"),
                    ("spoilt", "spoilt"),
                    ("moved", "hung on the wrong part"),
                    ("paired", "its neck was paired"),
                    ("scrapped", "its part was scrapped"),
                ],
            ),
            preserve_default=False,
        ),
        migrations.AlterField(
            "instrument",
            "neck",
            models.OneToOneField(
                "floor.neck",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="instrument",
            ),
        ),
        migrations.AddField("instrument", "open_step", models.JSONField(default=dict)),
        migrations.AddField("instrument", "frozen", models.JSONField(default=dict)),
        migrations.AddField("instrument", "rework", models.JSONField(default=dict)),
        migrations.AddField("instrument", "repairs", models.JSONField(default=list)),
        migrations.AddField("instrument", "happened", models.JSONField(default=list)),
        migrations.AddField("instrument", "longer", models.JSONField(default=dict)),
        migrations.AddField(
            "instrument",
            "ended",
            models.CharField(
                max_length=120, blank=True, default="", help_text="Why it is scrap."
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "instrument",
            "link",
            models.CharField(
                max_length=64, blank=True, default="", help_text="Of its last journal row."
            ),
            preserve_default=False,
        ),
        migrations.AddField("pair", "ended_why", words(200), preserve_default=False),
        migrations.CreateModel(
            name="Loose",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("seq", models.PositiveIntegerField(default=0)),
                ("link", models.CharField(blank=True, max_length=64)),
            ],
            options={"verbose_name_plural": "loose"},
        ),
        migrations.RemoveConstraint("entry", "entry_seq_with_instrument"),
        migrations.AddField(
            "entry",
            "who",
            models.CharField(max_length=8, default="", help_text="Badge it was done under."),
            preserve_default=False,
        ),
        migrations.AddField(
            "entry",
            "beside",
            models.CharField(
                max_length=8, blank=True, default="", help_text="Trainer's or witness's badge."
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "entry",
            "corrects",
            models.ForeignKey(
                "floor.entry",
                null=True,
                db_index=False,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                help_text="The earlier row that this one corrects.",
            ),
        ),
        migrations.AddField(
            "entry",
            "form",
            models.PositiveSmallIntegerField(
                default=1, help_text="Which fields the link is worked out from."
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "entry", "link", models.CharField(max_length=64, default=""), preserve_default=False
        ),
        migrations.RemoveConstraint("step", "step_once"),
        migrations.AddField(
            "step", "others", models.JSONField(default=list)
        ),
        migrations.AddField(
            "step",
            "claimed_at",
            models.DateTimeField(null=True, help_text="When it was done, if entered late."),
        ),
        migrations.AddField(
            "step",
            "doubt",
            models.CharField(
                max_length=120, blank=True, default="", help_text="Why it is to be confirmed."
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "step",
            "seq",
            models.PositiveIntegerField(
                default=0, help_text="Its row in the instrument's journal."
            ),
            preserve_default=False,
        ),
        migrations.AddField("step", "void_at", models.DateTimeField(null=True)),
        migrations.AddField("step", "void_why", words(200), preserve_default=False),
        migrations.AddField(
            "step",
            "struck",
            models.BooleanField(default=False, help_text="Void because it never was so."),
        ),
        migrations.AlterField(
            "step",
            "at",
            models.DateTimeField(help_text="When it counts as done: clocks run from here."),
        ),
        migrations.AddConstraint(
            "step",
            models.UniqueConstraint(
                fields=["instrument", "operation"],
                condition=Q(void_at__isnull=True),
                name="step_once",
            ),
        ),
        migrations.AddIndex("step", models.Index(fields=["instrument"], name="step_of_instrument")),
        migrations.CreateModel(
            name="Rework",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("loop", models.CharField(help_text="Which loop of the catalogue.", max_length=24)),
                ("word", models.CharField(help_text="The defect, in its one word.", max_length=24)),
                ("words", models.CharField(blank=True, max_length=200)),
                ("found_at", models.CharField(blank=True, help_text="Operation or station.", max_length=4)),
                ("redo", models.JSONField(default=list)),
                ("opened_at", models.DateTimeField()),
                ("repaired_at", models.DateTimeField(null=True)),
                ("repaired_by", models.CharField(blank=True, max_length=8)),
                ("dry_until", models.DateTimeField(null=True)),
                ("closed_at", models.DateTimeField(null=True)),
                ("entry", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="floor.entry")),
                ("instrument", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="reworks", to="floor.instrument")),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=Q(closed_at__isnull=True),
                        fields=["instrument"],
                        name="rework_one_open",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="AsBuilt",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("record", models.JSONField()),
                ("at", models.DateTimeField()),
                ("entry", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="floor.entry")),
                ("instrument", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="as_built", to="floor.instrument")),
            ],
            options={"ordering": ["-id"], "verbose_name_plural": "as built"},
        ),
        migrations.AddField(
            "helpcall",
            "entry",
            models.ForeignKey(
                "floor.entry",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
            ),
        ),
    ]
