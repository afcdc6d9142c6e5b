"""What was only claimed is asked for by when it came: it may have been tapped long before."""

from typing import ClassVar

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0007_how_it_was_sent")]

    operations: ClassVar = [
        migrations.RemoveIndex("entry", "entry_unproven"),
        migrations.AddIndex(
            "entry",
            models.Index(fields=["received_at"], condition=~Q(unproven=""), name="entry_unproven"),
        ),
    ]
