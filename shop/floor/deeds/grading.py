"""Where a defect is noted with its class, and not only reported."""

from __future__ import annotations

from shop.craft import looks
from shop.craft.finding import Finding, stop
from shop.craft.start import Asking
from shop.floor.state import State
from shop.people import badges
from shop.people.roles import holds


def ungraded_at_a_look(now: State, asking: Asking) -> tuple[Finding, ...]:
    """Why a defect is not reported without its class where a look is taken: whoever grades
    defects notes it there, and what is serious is decided by two badges. Nothing elsewhere, and
    nothing for who may only report one."""
    pairs = looks.pairs(now.sheet.route)
    if asking.station not in {one.station_code for pair in pairs for one in pair}:
        return ()
    badge = badges.active(asking.who.code)
    if badge is None or not holds(badge, "defect.note"):
        return ()
    words = f"A defect is noted with its class where {now.serial} is inspected."
    return (stop("class", words, "Note it with its class. Then it is decided.", call=""),)
