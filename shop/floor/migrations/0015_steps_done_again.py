"""What was done again is found without reading every step there ever was."""

from typing import ClassVar

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0014_rack_slots")]

    operations: ClassVar = [
        migrations.AddIndex(
            "step",
            models.Index(
                fields=["instrument", "operation", "at", "void_why"],
                condition=Q(void_at__isnull=False, struck=False),
                name="step_void",
            ),
        ),
    ]
