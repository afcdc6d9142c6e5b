"""Somebody asks for prints in a process of its own, and looks what became of them.

``python -m tests.paper.asking FORM COUNT`` asks for a form of so many instruments and ends at
once; ``... look`` prints what is then so, as JSON.
"""

from __future__ import annotations

import json
import os
import sys
import uuid
from typing import Any


def ask(form: str, count: int) -> None:
    from django.utils import timezone

    from shop.floor import board
    from shop.floor.door import Act
    from shop.paper import jobs
    from shop.paper.placing import Sheeting
    from shop.people.models import Badge

    lead = Badge.objects.get(code="P-01")
    names = sorted(one.serial for one in board.all_open())[:count]
    act = Act(key=uuid.uuid4(), by_id=lead.pk, by=lead.code, at=timezone.now())
    jobs.ask(form, names, Sheeting("a4", 0, "long"), None, act, again=False)


def look() -> dict[str, Any]:
    from django.conf import settings
    from django_tasks_db.models import DBTaskResult

    from shop.floor.models import Entry, Print
    from shop.paper.models import Job

    return {
        "jobs": [
            [job.form, len(job.names), job.state, job.drawn, job.sheets, job.refused]
            for job in Job.objects.order_by("pk")
        ],
        "printed": list(Print.objects.order_by("pk").values_list("form", "of", "copy")),
        "entries": Entry.objects.filter(kind="print").count(),
        "tasks": list(DBTaskResult.objects.values_list("status", flat=True)),
        "files": sorted(path.suffix for path in (settings.DATA_DIR / "prints").glob("*")),
    }


def main() -> None:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
    django.setup()
    what, *more = sys.argv[1:]
    if what == "look":
        print(json.dumps(look()))  # noqa: T201 to the test that started this
    else:
        ask(what, int(more[0]))


if __name__ == "__main__":
    main()
