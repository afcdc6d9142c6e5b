import re
from collections import defaultdict
from decimal import Decimal
from typing import Any

from django.db import migrations

# A bin named as A-03 is the third on the first aisle; about a metre each. Whoever knows
# better says so on the bin's page.
NAMED = re.compile(r"([A-Z])-(\d+)")


def fill(apps: Any, editor: Any) -> None:
    movement = apps.get_model("stock", "Movement")
    after: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    changed = []
    for row in movement.objects.order_by("id").iterator(2000):
        counts = after[row.lot_id]
        counts[0] += row.on_hand
        counts[1] += row.reserved
        row.on_hand_after, row.reserved_after = counts
        changed.append(row)
        if len(changed) == 2000:
            movement.objects.bulk_update(changed, ["on_hand_after", "reserved_after"])
            changed.clear()
    movement.objects.bulk_update(changed, ["on_hand_after", "reserved_after"])

    for place in apps.get_model("stock", "Bin").objects.all():
        if found := NAMED.fullmatch(place.code):
            place.aisle = ord(found[1]) - ord("A") + 1
            place.along_m = Decimal(found[2])
            place.save(update_fields=["aisle", "along_m"])

    # What was to be ordered below so many is said of an item now, not of each of its lots.
    rule = apps.get_model("stock", "StockRule")
    least: dict[int, int] = defaultdict(int)
    for item_id, one in apps.get_model("stock", "Lot").objects.values_list("item_id", "least"):
        least[item_id] = max(least[item_id], one)
    rule.objects.bulk_create(
        rule(item_id=item_id, least=one) for item_id, one in least.items() if one
    )

    # Where each part is used was looked up in the kit; the line says it from now on.
    kit = {
        (revision, item): code
        for revision, item, code in apps.get_model("catalogue", "KitLine").objects.values_list(
            "kit__revision_id", "item_id", "used_at__code"
        )
    }
    for one in apps.get_model("stock", "TrayLine").objects.select_related("tray").iterator(2000):
        if code := kit.get((one.tray.revision_id, one.item_id), ""):
            one.used_at = code
            one.save(update_fields=["used_at"])

    # Of trays closed before, nobody counted what was fitted: it counts as fitted.
    line = apps.get_model("stock", "TrayLine")
    taken = line.objects.filter(tray__state="closed", state="taken")
    for one in taken.iterator(2000):
        line.objects.filter(pk=one.pk).update(fitted=one.quantity)


class Migration(migrations.Migration):
    dependencies = [("stock", "0003_waves_counts_and_what_is_on_order")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
