"""The carton an instrument lies in, and what may be recorded only together with its scans."""

from __future__ import annotations

from shop.craft import leaving
from shop.craft.finding import Finding, stop
from shop.craft.words import listed
from shop.floor.models import Carton
from shop.floor.state import State


def unreleased(now: State) -> tuple[Finding, ...]:
    """Nothing is boxed before its record is frozen."""
    missing = [one for one in leaving.releasing(now.sheet.route) if one not in now.done_codes]
    if not missing:
        return ()
    words = f"{now.serial} is not released yet: {listed(missing)} comes first."
    return (stop("release", words, "Take it back to the second look.", call=""),)


def standing(now: State) -> Carton | None:
    """The carton the instrument lies in now; ``None`` where it lies in none: never boxed, or
    to be boxed again since it was worked on."""
    if unreleased(now):
        return None
    code = leaving.boxing(now.sheet.route)
    if code and code not in now.done_codes:
        return None
    newest = Carton.objects.filter(instrument_id=now.id).select_related("manifest").order_by("-id")
    return newest.first()


def unscanned(now: State, operation: str) -> tuple[Finding, ...]:
    """What boxes an instrument and what hands it over come about with their scans. By itself
    the one is recorded right after its carton only, the other of a carton on a list."""
    if operation == leaving.boxing(now.sheet.route):
        packed = Carton.objects.filter(instrument_id=now.id, entry__seq=now.seq).exists()
        return () if packed else (unboxed(now),)
    if operation != leaving.handing(now.sheet.route):
        return ()
    carton = standing(now)
    if carton is None:
        return (unboxed(now),)
    if carton.manifest is not None:
        return ()
    words = f"The carton of {now.serial} is on no list of a carrier."
    return (stop("dock", words, "Hand it over on the page of the dock.", call=""),)


def unboxed(now: State) -> Finding:
    """It lies in no carton that is known to be its own."""
    words = f"{now.serial} is not boxed: case, label and record were not found to be one."
    return stop("unboxed", words, "Box it first: scan case and carton on its page.", call="")
