"""An area may be told by a defect that was noted before; rows from before this say of none."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0020_who_decided")]

    operations: ClassVar = [
        migrations.AddField(
            "arealook",
            "told_by",
            models.PositiveIntegerField(
                default=0, help_text="The row of the defect that was chosen for it; 0: none was."
            ),
        ),
    ]
