"""What was printed of each instrument, and when a tag first left the printer.

Tags made before count as never printed: the first print after this keeps their code.
"""

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0005_the_chain_is_closed")]

    operations: ClassVar = [
        migrations.AddField(
            "tag",
            "printed_at",
            models.DateTimeField(null=True, help_text="When it first left the printer."),
        ),
        migrations.AlterField(
            "tag",
            "void_why",
            models.CharField(
                max_length=8,
                blank=True,
                choices=[
                    ("lost", "lost"),
                    ("spoilt", "spoilt"),
                    ("moved", "hung on the wrong part"),
                    ("paired", "its neck was paired"),
                    ("scrapped", "its part was scrapped"),
                    ("reprint", "it was printed again"),
                ],
            ),
        ),
        migrations.CreateModel(
            name="Print",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("form", models.CharField(max_length=12)),
                ("words", models.CharField(max_length=24, help_text="What the form is called.")),
                ("of", models.CharField(max_length=16, help_text="Serial of the body or neck it is of.")),
                ("copy", models.PositiveSmallIntegerField(help_text="1 is the first of its kind.")),
                (
                    "code",
                    models.CharField(
                        max_length=7,
                        blank=True,
                        help_text="Its own, where it does not carry that of a part.",
                    ),
                ),
                ("drawn_from", models.PositiveIntegerField(help_text="Rows its journal had when it was drawn.")),
                ("stands", models.JSONField(default=list, help_text="What it says that may change.")),
                ("at", models.DateTimeField()),
                (
                    "entry",
                    models.ForeignKey(
                        "floor.entry",
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        "floor.instrument",
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="prints",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=["instrument", "form", "of", "copy"], name="print_copy_once"
                    ),
                    models.UniqueConstraint(
                        fields=["code"], condition=~Q(code=""), name="print_code_once"
                    ),
                ],
            },
        ),
    ]
