"""What the label on a carton says that may change, and whether it still says what is so."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from django.utils.timezone import localtime

from shop.craft.finding import Finding, stop
from shop.craft.inspecting.disposing import Disposition
from shop.floor import conditions
from shop.floor.differing import Stands, changed
from shop.floor.models import Defect, Print
from shop.floor.state import State

LABEL: Final = "box_label"  # the form that sticks on the carton
QUALITY: Final = "quality"
SECONDS: Final = "seconds"
FIRST: Final = "first quality"


def says(now: State) -> Iterator[tuple[str, str]]:
    """What it would say if it were printed now, but for what it says of the moment of its
    print. Two statements at most."""
    sold = Defect.objects.filter(instrument_id=now.id, disposition=Disposition.SECONDS.value)
    yield QUALITY, SECONDS if sold.exists() else FIRST
    yield "goes to", now.destination or "this country"
    yield "order", now.order or "none"
    for paper in conditions.papers(now):
        if not paper.numbers:
            yield "hold", f"paper for {paper.wood.name} is not noted"
    if not all(one.value for one in now.readings.of("insulated")):
        yield "hold", "the battery’s contacts are not insulated"


def said(row: Print) -> Stands:
    """What a label that was printed says. Labels were printed before their quality was kept:
    of those it is what was decided by then."""
    kept: Stands = tuple((what, how) for what, how in row.stands)
    if any(what == QUALITY for what, _ in kept):
        return kept
    decided = Defect.objects.filter(
        instrument_id=row.instrument_id,
        disposition=Disposition.SECONDS.value,
        decided_at__lte=row.at,
    )
    return ((QUALITY, SECONDS if decided.exists() else FIRST), *kept)


def newest_outdated(now: State) -> tuple[Finding, ...]:
    """The same of the newest label of this instrument, which is the only one that may stick on
    its carton. It says whose label it is: it may be one of many."""
    newest = Print.objects.filter(instrument_id=now.id, form=LABEL, of=now.serial)
    row = newest.order_by("-copy").first()
    return outdated(now, row, named=True) if row else ()


def outdated(now: State, row: Print, *, named: bool = False) -> tuple[Finding, ...]:
    """What stands against a label of this instrument that no longer says what is so."""
    changes = " ".join(changed(said(row), tuple(says(now))))
    if not changes:
        return ()
    at = f"{localtime(row.at):%Y-%m-%d %H:%M}"
    words = f"This label was printed {at}. Since then: {changes}"
    if named:
        words = f"The label of {now.serial} was printed {at}. Since then: {changes}"
    then = "Print a new label, stick it on the carton and tear this one up. Then scan the new one."
    return (stop("box label", words, then, call=""),)
