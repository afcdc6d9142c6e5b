from datetime import timedelta
from typing import Any

from django.db import migrations

LEAST = timedelta(hours=96)


def name_them(apps: Any, _: Any) -> None:
    """The longest wait of a route, where it is as long as a hold, is the hold: until now
    nothing else waited for days."""
    precedence = apps.get_model("catalogue", "Precedence")
    named = set()
    for one in precedence.objects.filter(wait__gte=LEAST).order_by("-wait", "pk"):
        if one.route_id not in named:
            named.add(one.route_id)
            precedence.objects.filter(pk=one.pk).update(clock="hold")


class Migration(migrations.Migration):
    dependencies = [("catalogue", "0004_clocks_and_holds")]

    # Going back takes the names away with their column.
    operations = [migrations.RunPython(name_them, migrations.RunPython.noop)]
