"""A reading of the room says which sensor noted it; those from before were read by a person."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0011_fret_heights")]

    operations: ClassVar = [
        migrations.AddField(
            model_name="roomreading",
            name="sensor",
            field=models.CharField(
                blank=True, default="", help_text="Empty: read by a person.", max_length=20
            ),
            preserve_default=False,
        ),
    ]
