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
    "tray.check": "Check a tray against a body at the bench",
    "tray.pick": "Pick trays and close them",
    "help.call": "Call the clerk or the lead",
    "help.answer": "Answer a call",
    "floor.see": "See the floor list",
    "instrument.release": "Release an instrument to the floor",
    "tag.replace": "Replace a tag; the old one is void for ever",
    "paper.print": "Print travellers, tags and labels",
    "badge.unlock": "Unlock a badge after wrong PINs",
    "catalogue.edit": "Edit specs, hardware, kits, routes and people",
}

BENCH: Final = {"tag.scan", "step.record", "tray.check", "help.call", "floor.see"}

ROLES: Final[dict[str, set[str]]] = {
    "operator": BENCH,
    "kitting clerk": {
        "tag.scan", "tray.pick", "help.call", "help.answer", "floor.see", "paper.print",
    },
    "inspector": BENCH,
    "repairer": BENCH,
    "lead": set(RIGHTS),
    # A trainee looks and checks; the trainer beside them records.
    "trainee": {"tag.scan", "tray.check", "help.call", "floor.see"},
}  # fmt: skip

# What a lead edits in the admin: these rooms' tables, and badges.
ADMIN_ROOMS: Final = ("catalogue", "people")


def codename(right: str) -> str:
    """``step.record`` as Django's permission codename: ``step_record``."""
    return right.replace(".", "_")


def furnish(**_: Any) -> None:
    """Make each missing group and give it its rights; leave groups that exist alone."""
    from django.contrib.auth.models import Group, Permission
    from django.contrib.contenttypes.models import ContentType

    from shop.people.models import Right

    kind = ContentType.objects.get_for_model(Right)
    rights = {
        right: Permission.objects.get_or_create(
            content_type=kind, codename=codename(right), defaults={"name": words}
        )[0]
        for right, words in RIGHTS.items()
    }
    for role, may in ROLES.items():
        group, new = Group.objects.get_or_create(name=role)
        if new:
            group.permissions.set([rights[right] for right in may])
        if role == "lead":
            group.permissions.add(
                *Permission.objects.filter(content_type__app_label__in=ADMIN_ROOMS)
            )
