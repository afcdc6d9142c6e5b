"""Every row has its place and its link by now: the columns say so."""

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0004_what_was_kept_is_chained")]

    operations: ClassVar = [
        migrations.AlterField(
            "entry", "seq", models.PositiveIntegerField(help_text="Place in its chain, from 1.")
        ),
        migrations.AddConstraint(
            "entry",
            models.UniqueConstraint(
                fields=["seq"], condition=Q(instrument__isnull=True), name="entry_loose_seq_once"
            ),
        ),
        migrations.AlterField(
            "helpcall",
            "entry",
            models.ForeignKey(
                "floor.entry", on_delete=django.db.models.deletion.PROTECT, related_name="+"
            ),
        ),
    ]
