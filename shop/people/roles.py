"""What each role may do: rights as ``thing.verb``, roles as Django groups.

The groups are furnished with these rights when they are first made. From then on a lead
may change a group in the admin, and that change stays.
"""

from __future__ import annotations

from typing import Any, Final

# thing.verb -> what it lets a person do. A view names the right it needs.
RIGHTS: Final[dict[str, str]] = {
    "tag.scan": "Scan a tag and see the instrument",
    "step.record": "Record a step",
    "step.learn": "Record a step with a trainer beside",
    "step.hand": "Hand an open step to another badge",
    "event.report": "Report what happened to an instrument",
    "defect.report": "Report a defect",
    "defect.note": "Note a defect with its class and its place",
    "defect.decide": "Decide what becomes of a defect",
    "defect.second": "Sign beside whoever decides about a serious defect",
    "tray.check": "Check a tray against a body at the bench",
    "tray.pick": "Pick trays and close them",
    "tray.accept": "Accept a second plating lot in a tray",
    "kit.substitute": "Approve another item in the place of one of a kit",
    "stock.see": "See shorts, reordering, and where a lot was used",
    "stock.receive": "Take deliveries in, and take parts back",
    "stock.count": "Count bins",
    "stock.share": "Share scarce parts out among the trays",
    "stock.import": "Take lists over into the catalogue and the stock",
    "lot.measure": "Measure a lot at receiving, and hold it",
    "lot.free": "Give a held lot free again",
    "fit.ask": "Ask what fits which spec",
    "limit.set": "Set a limit of a fit rule for a spec",
    "help.call": "Call the clerk or the lead",
    "help.answer": "Answer a call",
    "floor.see": "See the floor list",
    "instrument.release": "Release an instrument to the floor",
    "instrument.settle": "Settle what waits for the lead",
    "power.cut": "Note a power cut",
    "tag.replace": "Replace a tag; the old one is void for ever",
    "paper.print": "Print travellers, tags and labels",
    "paper.note": "Note the number of an export paper",
    "rack.keep": "Put up and retire the slots of the hold rack",
    "gauge.keep": "Keep the gauges, their checks and their studies",
    "chart.see": "See the charts of what is measured",
    "figure.see": "See the figures of quality",
    "panel.seed": "Put defects on panels, and see how far two inspectors agree",
    "panel.call": "Look at seeded panels, and say what is found",
    "room.log": "Note the temperature and humidity of the room",
    "badge.unlock": "Unlock a badge after wrong PINs",
    "badge.train": "Sign a badge off for a station",
    "catalogue.edit": "Edit specs, hardware, kits, routes and people",
}

BENCH: Final = {
    "tag.scan", "step.record", "step.hand", "event.report", "defect.report", "tray.check",
    "help.call", "floor.see", "room.log",
}  # fmt: skip

ROLES: Final[dict[str, set[str]]] = {
    "operator": BENCH,
    "kitting clerk": {
        "tag.scan", "tray.pick", "help.call", "help.answer", "floor.see", "paper.print",
        "lot.measure", "fit.ask", "room.log", "event.report", "stock.see", "stock.receive",
        "stock.count",
    },
    "inspector": BENCH | {
        "defect.note", "defect.decide", "defect.second", "figure.see", "panel.call",
    },
    "repairer": BENCH | {"fit.ask"},
    "lead": set(RIGHTS),
    # A trainee looks and checks, and records with a trainer beside.
    "trainee": {"tag.scan", "step.learn", "event.report", "tray.check", "help.call", "floor.see"},
}  # fmt: skip

# What a lead edits in the office pages: these rooms' tables, and the groups themselves.
ADMIN_ROOMS: Final = ("catalogue", "people")


def codename(right: str) -> str:
    """``step.record`` as Django's permission codename: ``step_record``."""
    return right.replace(".", "_")


def holds(badge: Any, right: str) -> bool:
    """Whether the badge has the right, named as ``thing.verb``."""
    name = f"people.{codename(right)}"
    # A page asks for many: once the backend has found the rights they are looked up at once.
    found = getattr(badge, "_rights", None)
    return bool(badge.has_perm(name)) if found is None else name in found


def furnish(**_: Any) -> None:
    """Make each missing group and give it its rights; leave what a lead changed alone.

    A group that exists is given only rights that did not exist before: those of a newer
    version of the shop.
    """
    from django.contrib.auth.models import Group, Permission
    from django.contrib.contenttypes.models import ContentType

    from shop.people.models import Right

    kind = ContentType.objects.get_for_model(Right)
    made = {
        right: Permission.objects.get_or_create(
            content_type=kind, codename=codename(right), defaults={"name": words}
        )
        for right, words in RIGHTS.items()
    }
    office, office_new = _office_rights()
    for role, may in ROLES.items():
        group, is_new = Group.objects.get_or_create(name=role)
        group.permissions.add(*(made[right][0] for right in may if is_new or made[right][1]))
        if role == "lead":
            group.permissions.add(*(office if is_new else office_new))


def _office_rights() -> tuple[list[Any], list[Any]]:
    """Django's rights on what a lead edits in the office pages: all, and the new ones.

    Django makes each room's own only after this runs, so they are made here.
    """
    from django.apps import apps
    from django.contrib.auth.management import create_permissions
    from django.contrib.auth.models import Permission
    from django.db.models import Q

    here = Permission.objects.filter(
        Q(content_type__app_label__in=ADMIN_ROOMS)
        | Q(content_type__app_label="auth", content_type__model="group")
    )
    before = set(here.values_list("pk", flat=True))
    for room in ("auth", *ADMIN_ROOMS):
        create_permissions(apps.get_app_config(room), verbosity=0)
    office = list(here.all())
    return office, [one for one in office if one.pk not in before]
