"""What an instrument is in the middle of, told on its page: its hold, its rework.

``{% hold %}`` and ``{% rework %}`` stand where the page has ``now`` and ``code``.
"""

from __future__ import annotations

from typing import Any, Final

from django import template
from django.utils import timezone

from shop.craft.route import hold_of
from shop.craft.start import Asking, Person
from shop.craft.when import in_utc, when_words
from shop.craft.words import listed
from shop.floor import board
from shop.floor.board import State
from shop.people.gate import may

register = template.Library()

RECORDS: Final = ("step.record", "step.learn")


@register.inclusion_tag("bench/_hold.html", takes_context=True)
def hold(context: dict[str, Any]) -> dict[str, Any]:
    """The days in the case, while anything still hangs on them, and the slot it lies in."""
    now: State = context["now"]
    days = hold_of(now.sheet.route)
    held = board.hold(now, timezone.localtime()) if days else None
    if days is None or held is None:
        return {}
    looked_at = days.after in now.done_codes and held.passed and held.out_since is None
    if now.ended or now.finished_at:
        return {}
    if looked_at:
        return {"slot": now.slot} if now.slot else {}
    stops = (now.sheet.stop(days.before), now.sheet.stop(days.after))
    return {
        "held": held,
        "code": context["code"],
        "slot": now.slot,
        "large": context.get("station") in {one.station_code for one in stops if one},
        "may_tell": may(context["request"].user, "event.report"),
    }


@register.inclusion_tag("bench/_rework.html", takes_context=True)
def rework(context: dict[str, Any]) -> dict[str, Any]:
    """The loop it is on: what is repaired, where, and what is done again."""
    now: State = context["now"]
    one, at = now.rework, timezone.localtime()
    if one is None or now.ended:
        return {}
    pending = board.to_repair(now.id) if one.stage == "repair" else ()
    asking = board.asking(context["request"], at)
    if context.get("nobody"):  # a page that a phone carries, for whoever stands there
        asking = Asking(Person(""), context.get("station", ""), at)
    dry_until = one.dry_until if one.dry_until and in_utc(one.dry_until) > in_utc(at) else None
    return {
        "one": one,
        "kept": board.loop_is_kept(now, asking),
        "since": when_words(one.since, at),
        "pending": pending,
        "places": listed([*dict.fromkeys(row["station"] for row in pending)]) if pending else "",
        "here": any(row["station_code"] == context.get("station") for row in pending),
        "dry": when_words(dry_until, at) if dry_until else "",
        "done": [code for code in one.redo if code in now.done_codes],
        "left": [code for code in one.redo if code not in now.done_codes],
        "code": context["code"],
        "frozen": now.frozen is not None,
        "may_record": any(may(context["request"].user, one) for one in RECORDS),
        "units": context.get("units", "mm"),
    }
