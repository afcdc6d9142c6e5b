"""What signing a decision costs whoever signs: they do not take the second look any more."""

from __future__ import annotations

from shop.craft.finding import Finding
from shop.craft.inspecting.classes import DefectClass
from shop.craft.route import OperationFacts
from shop.craft.start import Asking, fresh, kept_apart
from shop.floor.board import DefectRow, State
from shop.people import badges


def signing(now: State, row: DefectRow, asking: Asking) -> tuple[Finding, ...]:
    """What is told before somebody signs what becomes of a defect: that who signs does not take
    the second look of it, and where nobody is left then who could. It stops nothing."""
    stands = now.stands(asking.at)
    second = fresh.second_after(stands, row.found_at)
    away = fresh.signed_away(stands, row.found_at)
    if away is None or second is None:
        return ()
    left = _could_take(now, second, asking)
    one_more = asking.signer is None and DefectClass(row.grade).serious
    return (away, *fresh.left_to_look(stands, second, left, asking, one_more=one_more))


def _could_take(now: State, second: OperationFacts, asking: Asking) -> frozenset[str]:
    """The badges that could take the second look as things stand."""
    codes = {one["code"] for one in badges.on_the_floor(badges.BESIDE_RIGHT)}
    if second.trained:
        today = asking.at.date()
        codes &= {
            one.code
            for one in badges.signed_off()
            if one.station == second.station_code and one.until >= today
        }
    return frozenset(codes - kept_apart(now.stands(asking.at), second, asking.at))
