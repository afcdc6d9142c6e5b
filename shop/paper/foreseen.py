"""Why a form cannot be printed for one thing, as far as that is known before it is drawn."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from shop.floor import board
from shop.paper.facts.tags import without_tag
from shop.paper.forms import Form
from shop.paper.refusing import NotPrinted


def refusal(form: Form, thing: Any, now: datetime) -> NotPrinted | None:
    """What the form itself would say against it, and that a tag is in use where it is one."""
    try:
        form.facts(thing, now)
    except NotPrinted as why:
        return why
    if part := board.TAG_FORMS.get(form.key):
        coming = board.next_prints([thing], form.key, own_code=False)
        return None if thing.id in coming else without_tag(thing, part)
    return None
