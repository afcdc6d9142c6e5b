"""How each row of the journal came: kept on a phone until it was sent, by whom, and what of it
was only claimed. Rows from before came at once; they keep the form their link was made in."""

from typing import ClassVar

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies: ClassVar = [("floor", "0006_prints")]

    operations: ClassVar = [
        migrations.AddField(
            "entry",
            "source",
            models.CharField(
                max_length=4,
                choices=[("live", "at once"), ("kept", "kept on the phone")],
                default="live",
            ),
        ),
        migrations.AddField(
            "entry",
            "sent_at",
            models.DateTimeField(null=True, help_text="By the phone's own clock."),
        ),
        migrations.AddField(
            "entry",
            "received_at",
            models.DateTimeField(null=True, help_text="By the server's clock."),
        ),
        migrations.AddField(
            "entry",
            "sent_by",
            models.CharField(
                max_length=8, blank=True, help_text="Badge it was sent under, if another."
            ),
        ),
        migrations.AddField(
            "entry",
            "unproven",
            models.CharField(
                max_length=160,
                blank=True,
                help_text="What of badge or moment was only claimed.",
            ),
        ),
        migrations.AddField(
            "entry",
            "sent_mark",
            models.CharField(
                max_length=64,
                blank=True,
                help_text="Tells what the phone sent from anything else.",
            ),
        ),
        migrations.AlterField(
            "entry",
            "at",
            models.DateTimeField(help_text="The moment it counts from, by the server's clock."),
        ),
        migrations.AddIndex(
            "entry",
            models.Index(fields=["at"], condition=~Q(unproven=""), name="entry_unproven"),
        ),
    ]
