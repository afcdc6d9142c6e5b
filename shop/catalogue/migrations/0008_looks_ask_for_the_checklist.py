"""An operation may ask for every area of the checklist. Those that are there ask for none."""

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("catalogue", "0007_what_a_set_up_aims_at")]

    operations: ClassVar = [
        migrations.AddField(
            model_name="operation",
            name="checklist",
            field=models.BooleanField(
                default=False,
                help_text="A look: every area of the checklist is answered before it is recorded.",
            ),
        ),
    ]
