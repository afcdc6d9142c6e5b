
from typing import Any

from django.db import migrations, models
from django.utils import timezone

BEFORE = "before approvals were kept"


def carry_over(apps: Any, _: Any) -> None:
    """What was approved so far stays approved; nobody wrote down by whom."""
    line = apps.get_model("catalogue", "KitLine")
    substitute = apps.get_model("catalogue", "Substitute")
    for one in line.substitutes.through.objects.all():
        substitute.objects.create(
            line_id=one.kitline_id,
            item_id=one.item_id,
            approved_by="the lead",
            on=timezone.localdate(),
            why=BEFORE,
        )


def carry_back(apps: Any, _: Any) -> None:
    """The plain list again; who approved, when and why is not in it."""
    line = apps.get_model("catalogue", "KitLine")
    for one in apps.get_model("catalogue", "Substitute").objects.all():
        line.objects.get(pk=one.line_id).substitutes.add(one.item_id)


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0002_tolerances_limits_and_gaugings")]

    operations = [
        migrations.RunPython(carry_over, carry_back),
        migrations.RemoveField("kitline", "substitutes"),
        migrations.AddField(
            "kitline",
            "substitutes",
            models.ManyToManyField(
                blank=True, related_name="+", through="catalogue.Substitute", to="catalogue.item"
            ),
        ),
    ]
