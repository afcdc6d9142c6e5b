"""The slots of the hold rack; an instrument says in which of them its case lies."""

from typing import ClassVar

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0013_defects")]

    operations: ClassVar = [
        migrations.CreateModel(
            name="Slot",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "code",
                    models.CharField(help_text="As it is called on the rack: H-001.", max_length=5),
                ),
                ("tag", models.CharField(help_text="On its label.", max_length=7)),
                (
                    "retired",
                    models.BooleanField(default=False, help_text="No case is put there any more."),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.UniqueConstraint(fields=["code"], name="slot_code_once"),
                    models.UniqueConstraint(fields=["tag"], name="slot_tag_once"),
                ],
            },
        ),
        migrations.AddField(
            model_name="instrument",
            name="slot",
            field=models.CharField(
                blank=True,
                default="",
                help_text="Of the hold rack; empty: its case lies in none.",
                max_length=5,
            ),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            model_name="instrument",
            constraint=models.UniqueConstraint(
                condition=~Q(slot=""), fields=["slot"], name="instrument_one_a_slot"
            ),
        ),
    ]
