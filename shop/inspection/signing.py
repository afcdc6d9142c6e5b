"""What signing a decision costs whoever signs: they do not take the second look any more."""

from __future__ import annotations

from collections.abc import Collection

from shop.craft.finding import Finding, warn
from shop.craft.inspecting.classes import DefectClass
from shop.craft.route import OperationFacts
from shop.craft.start import Asking, fresh, kept_apart
from shop.craft.words import listed
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
    signs = {asking.who.code} | ({asking.signer.code} if asking.signer else set())
    alone = asking.signer is None and DefectClass(row.grade).serious
    return (away, *_last(now, second, left, signs, alone=alone))


def _last(
    now: State,
    second: OperationFacts,
    left: Collection[str],
    signs: Collection[str],
    *,
    alone: bool,
) -> tuple[Finding, ...]:
    """That nobody is left; or, where ``alone`` another badge has still to sign, which one had
    better not."""
    after = sorted(set(left).difference(signs))
    then = f"Have somebody else sign, or the lead sign another person off for {second.station}."
    if left and not after:
        those = listed(sorted(left))
        words = f"Only {those} could take the second look of {now.serial}: nobody is left then."
        return (warn("other eyes", words, then),)
    if alone and len(after) == 1:
        (one,) = after
        words = f"Only {one} is left to take the second look of {now.serial}."
        return (warn("other eyes", words, "Have somebody else sign beside you."),)
    return ()


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
