"""Machines beside each other: the posts of one plate R11, and the room between R13."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from shop.craft.finding import Finding
from shop.craft.fit.exchange import exchange
from shop.craft.fit.rule import Limit, LineCase, rule
from shop.craft.hardware import TunerSet
from shop.craft.size import Size, plain
from shop.craft.words import mm, several

# All common practice; a lead may set others for a spec revision.
FITS = Limit("R11.fits", Decimal("0.15"), "mm", "off between two posts at most")
MOST = Limit("R11.most", Decimal("0.30"), "mm", "does not go in above")
ROOM = Limit("R13.least", Decimal("0.5"), "mm", "between neighbours at least")


@rule(
    "R11",
    "Posts of a plate as far apart as their holes",
    of=TunerSet,
    reads=("spacing_mm",),
    limits=(FITS, MOST),
)
def spacing(case: LineCase[TunerSet]) -> Iterator[Finding]:
    """The error grows from span to span: the first posts go in, the last does not."""
    spec, machines = case.spec, case.article
    if machines.spacing_mm is None or spec.spacing_mm is None:
        return
    if machines.carried is not spec.tuner_family:
        return  # R02 has said it
    plate, holes = machines.size("spacing_mm"), spec.size("spacing_mm")
    apart = plate - holes
    off = max(-apart.least, apart.most)
    fits, most = (case.limit(one) for one in spacing.limits)
    if off <= min(fits, most):
        return
    spans = max(machines.left, machines.right) - 1
    words = f"Plate {mm(plate)}, holes {mm(holes)}: the last post is off by {mm(off * spans)}."
    why = case.basis(
        (f"Plate of {machines.key}", f"{plate} mm from post to post"),
        (f"Holes of {spec.name}", f"{holes} mm apart"),
        reckoning=f"{plate} \u2212 {holes} = {apart} mm; "
        f"{plain(off)} × {several(spans, 'span')} = {plain(off * spans)} mm",
        uses=spacing.limits,
    )
    if off > most:
        yield case.stop(words, exchange(case.call, machines), why, "clerk")
    else:
        yield case.warn(
            words, "Lay a plate over the holes and look, then say why you go on.", why, "clerk"
        )


@rule(
    "R13",
    "Room between one machine and the next",
    of=TunerSet,
    reads=("pitch_mm", "plate_width_mm", "button_width_mm"),
    limits=(ROOM,),
)
def pitch(case: LineCase[TunerSet]) -> Iterator[Finding]:
    if case.article.carried is not case.spec.tuner_family:
        return  # R02 has said it
    posts = case.spec.size("pitch_mm")
    part, width = _widest(case.article)
    between = posts - width
    if between.least >= case.limit(ROOM):
        return
    needs = mm(width.most + case.limit(ROOM))
    yield case.stop(
        f"{part}s {mm(width)} wide on posts {mm(posts)} apart will touch: they need {needs}.",
        exchange(case.call, case.article),
        case.basis(
            (f"Pitch of {case.spec.name}", f"{posts} mm"),
            (f"{part} of {case.article.key}", f"{width} mm"),
            reckoning=f"{posts} \u2212 {width} = {between} mm",
            uses=(ROOM,),
        ),
        "clerk",
    )


def _widest(machines: TunerSet) -> tuple[str, Size]:
    """Whichever of a machine's plate and button meets its neighbour first."""
    button, plate = machines.size("button_width_mm"), machines.size("plate_width_mm")
    return ("Plate", plate) if plate.most > button.most else ("Button", button)


RULES = (spacing, pitch)
