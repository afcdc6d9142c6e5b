from datetime import timedelta

import django.core.validators
from django.db import migrations, models

HOLD = models.Q(clock="hold")
SHORT = "The hold is 96 h at least. Give 96 or more."


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0003_substitutes_say_who_approved")]

    operations = [
        migrations.AddField(
            "operation",
            "rests",
            models.CharField(
                blank=True,
                choices=[("", "none comes in here"), ("body", "the body"), ("neck", "the neck")],
                help_text="The part that comes in here and rests in the room first.",
                max_length=4,
            ),
        ),
        migrations.AddField(
            "operation",
            "rest_h",
            models.PositiveSmallIntegerField(default=0, help_text="Hours since it arrived."),
        ),
        migrations.AddField(
            "operation",
            "machine",
            models.BooleanField(
                default=False, help_text="A power cut leaves its cut unknown until somebody looks."
            ),
        ),
        migrations.AddField(
            "operation",
            "trained",
            models.BooleanField(
                default=False, help_text="Only people signed off for its station."
            ),
        ),
        migrations.AddField(
            "operation",
            "proves",
            models.BooleanField(
                default=False, help_text="Stops while anything recorded before it is in doubt."
            ),
        ),
        migrations.AddField(
            "operation",
            "freezes",
            models.BooleanField(
                default=False, help_text="What was built is on record from here on and stays so."
            ),
        ),
        migrations.AddField(
            "precedence",
            "clock",
            models.CharField(
                blank=True,
                help_text=(
                    "What the wait is called: neck clamp. The days in the case are called hold."
                ),
                max_length=24,
            ),
        ),
        migrations.AddField(
            "precedence",
            "noted",
            models.BooleanField(
                default=False, help_text="The wait is told and keeps nothing back."
            ),
        ),
        migrations.AddField(
            "precedence",
            "apart_days",
            models.PositiveSmallIntegerField(
                blank=True,
                help_text="That only holds for so many days; empty: for ever.",
                null=True,
            ),
        ),
        migrations.AddField(
            "specrevision",
            "hold_h",
            models.PositiveSmallIntegerField(
                default=96,
                help_text="Hours in the case before it is inspected again: 96 or more.",
                validators=[django.core.validators.MinValueValidator(96, SHORT)],
            ),
        ),
        migrations.AddConstraint(
            "operation",
            models.CheckConstraint(
                condition=models.Q(rests__in=["", "body", "neck"]), name="operation_rests_known"
            ),
        ),
        migrations.AddConstraint(
            "operation",
            models.CheckConstraint(
                condition=models.Q(rest_h=0) | ~models.Q(rests=""),
                name="operation_rest_is_of_a_part",
                violation_error_message="Say which part rests, or give 0 hours.",
            ),
        ),
        migrations.AddConstraint(
            "precedence",
            models.UniqueConstraint(
                condition=HOLD,
                fields=["route"],
                name="precedence_one_hold",
                violation_error_message="A route has one hold. Name the other wait differently.",
            ),
        ),
        migrations.AddConstraint(
            "precedence",
            models.CheckConstraint(
                condition=~HOLD | models.Q(wait__gte=timedelta(hours=96)),
                name="precedence_hold_is_long_enough",
                violation_error_message="The hold is 96 h at least. Give 96:00:00 or more.",
            ),
        ),
        migrations.AddConstraint(
            "precedence",
            models.CheckConstraint(
                condition=~models.Q(clock="hold", noted=True),
                name="precedence_hold_keeps_back",
                violation_error_message="The hold keeps the next look back. Take noted off.",
            ),
        ),
        migrations.AddConstraint(
            "precedence",
            models.CheckConstraint(
                condition=models.Q(apart_days__isnull=True) | models.Q(other_person=True),
                name="precedence_apart_is_of_persons",
                violation_error_message="Days apart are of persons. Tick other person as well.",
            ),
        ),
        migrations.AddConstraint(
            "specrevision",
            models.CheckConstraint(
                condition=models.Q(hold_h__gte=96),
                name="revision_hold_is_long_enough",
                violation_error_message=SHORT,
            ),
        ),
    ]
