"""What must be so before an operation is done, beside the route: tray, readings, posts, neck."""

from __future__ import annotations

from collections.abc import Collection

from shop.catalogue.book import StopSheet
from shop.craft import fit, gauging
from shop.craft.code import pretty
from shop.craft.finding import Finding, Severity, stop, warn
from shop.craft.fit import moment
from shop.craft.fit.moment import Necks
from shop.craft.gauging import Spot
from shop.craft.hardware import Call
from shop.craft.start import Asking, may_start
from shop.craft.words import listed, several
from shop.floor import areas, compared, conditions
from shop.floor.deeds.prints import no_proof
from shop.floor.deeds.tags import void_words
from shop.floor.deeds.trays import judged
from shop.floor.models import Instrument, Neck, Tag
from shop.floor.state import State
from shop.stock import shelf


def against(
    now: State, operation: str, asking: Asking, neck_code: str = "", *, fresh: bool = False
) -> tuple[Finding, ...]:
    """All that stands against doing this operation here and now, in the order of the checks:
    the instrument itself, the route, the person, then tray, readings, posts and the room.

    ``fresh``: it is recorded now, so nothing is taken that a page may remember.
    """
    sheet = now.sheet.stop(operation)
    here = sheet is not None and sheet.station_code == asking.station
    work = _work(now, sheet, asking, neck_code, fresh=fresh) if sheet and here else ()
    return may_start(now.stands(asking.at), operation, asking, work)


def _work(
    now: State, sheet: StopSheet, asking: Asking, neck_code: str, *, fresh: bool
) -> tuple[Finding, ...]:
    if neckless(now, sheet):
        return neck_gate(now, neck_code)
    return (
        *tray_gate(now, sheet.code, asking.station),
        *part_gate(now, sheet),
        *reading_gate(now, sheet),
        *move_gate(now, sheet, asking),
        *area_gate(now, sheet),
        *position_gate(now, sheet),
        *(neck_gate(now, neck_code) if sheet.facts.needs == "neck" else ()),
        *conditions.gate(now, sheet, asking.at, fresh=fresh),
    )


def neckless(now: State, sheet: StopSheet) -> bool:
    """Whether the operation is of a neck that the body has not."""
    return now.neck is None and sheet.code in now.sheet.route.of_the_neck


def place_gate(now: State, operation: str, asking: Asking) -> tuple[Finding, ...]:
    """The instrument is free to be worked on and whole enough for it, the phone stands where
    the work belongs, and nobody who learns is alone."""
    sheet = now.sheet.stop(operation)
    found = may_start(now.stands(asking.at), operation, asking)
    kept = tuple(one for one in found if one.rule in {"ended", "frozen", "station", "beside"})
    return (*kept, *(neck_gate(now, "") if sheet and neckless(now, sheet) else ()))


def tray_gate(now: State, operation: str, station: str) -> tuple[Finding, ...]:
    """Where hardware goes on, the tray was scanned at this bench and nothing stops it."""
    sheet = now.sheet.stop(operation)
    if sheet is None:
        return ()
    if sheet.facts.needs != "tray":
        return _open_stop(now) if _for_good(sheet) else ()
    if now.checked_version != now.tray_version or now.checked_station != station:
        return (
            stop(
                "tray scan",
                f"{operation} fits hardware: the tray of {now.serial} is not scanned here yet.",
                "Scan the tray's label.",
                call="",
            ),
        )
    if now.checked_worst == "stop":
        return (
            stop(
                "tray stop",
                f"The tray of {now.serial} was stopped at its last check.",
                "Look at the stop, then scan the right tray.",
                call="clerk",
            ),
        )
    if now.checked_worst == "warn":
        return (
            warn(
                "tray warning",
                f"The tray of {now.serial} was passed with a warning.",
                "Say why you go on with it.",
            ),
        )
    return ()


def part_gate(now: State, sheet: StopSheet) -> tuple[Finding, ...]:
    """What the operation fits lies in the tray; what freezes the record, all of it. Asked only
    of a tray that was passed with a warning, or opened since: any other holds all its lines."""
    if now.checked_worst == "" and now.checked_version == now.tray_version:
        return ()
    freezes = sheet.facts.freezes
    if not freezes and not any(one.in_tray and one.used_at == sheet.code for one in now.kit):
        return ()
    left = shelf.missing_at(now.tray_id, None if freezes else sheet.code)
    if not left:
        return ()
    words = f"{sheet.code} fits {listed(left)}: not in the tray of {now.serial}."
    if freezes:
        words = f"{now.serial} still lacks {listed(left)} by its tray."
    then = "Wait until the clerk has put it in and closed the tray again."
    return (stop("part missing", words, then, call="clerk"),)


def _for_good(sheet: StopSheet) -> bool:
    """Whether nothing takes it back: the work itself, or the record that it freezes."""
    return sheet.facts.irreversible or sheet.facts.freezes


def _open_stop(now: State) -> tuple[Finding, ...]:
    """Nothing is done for good, and no record frozen, while its last tray check stands at a
    stop."""
    stood = now.standing.get("tray", ())
    return tuple(one for one in stood if one.severity is Severity.STOP)


def reading_gate(now: State, sheet: StopSheet) -> tuple[Finding, ...]:
    """What is measured here has been measured, and nothing measured stands against it."""
    spec, facts = now.sheet.spec, sheet.facts
    stood = now.standing.get("readings", ())
    if stood and now.judged_before:
        stood = judged(now)  # a limit was set since, or a measure mended
    stops = tuple(one for one in stood if one.severity is Severity.STOP)
    holds = stops if _for_good(sheet) or facts.gauges or facts.positions else ()
    own = fit.rules_reading(facts.gauges)
    doubts = tuple(one for one in stood if one not in stops and one.rule in own)
    if left := gauging.missing(spec, facts.gauges, now.readings, sheet.code):
        names = list(dict.fromkeys(gauging.QUANTITIES[key].words.lower() for key, _ in left))
        words = f"{sheet.code} measures {listed(names)}: {several(len(left), 'value')} to go."
        fresh = fit.rules_reading(_others(now, sheet, left))
        own_doubts = (one for one in doubts if one.rule not in fresh)
        return (stop("readings", words, "Measure and enter.", call=""), *holds, *own_doubts)
    return (*holds, *doubts)


def _others(now: State, sheet: StopSheet, left: Collection[Spot]) -> frozenset[str]:
    """The quantities still to be measured here whose values in force another operation took:
    what is doubtful of those is not told before they are measured anew."""
    wanted = {key for key, _ in left}
    return frozenset(
        one.quantity
        for one in now.readings.values
        if one.quantity in wanted and not one.answers(sheet.code)
    )


def move_gate(now: State, sheet: StopSheet, asking: Asking) -> tuple[Finding, ...]:
    """What moved between the looks beyond what is allowed keeps the second one from being
    recorded: it is adjusted, or repaired, and measured anew. What moved otherwise than usual
    asks for a reason."""
    if not sheet.facts.gauges:
        return ()
    beside = asking.beside.code if asking.beside else ""
    return compared.moves(now, sheet.code, {asking.who.code, beside})


def area_gate(now: State, sheet: StopSheet) -> tuple[Finding, ...]:
    """Where a look asks for the checklist, every area of it is answered, and every defect that
    the answers tell of is noted."""
    looks = areas.area_looks(now, sheet.code) if sheet.facts.checklist else None
    return looks.findings if looks else ()


def position_gate(now: State, sheet: StopSheet) -> tuple[Finding, ...]:
    """Where machines go on for good, each was found on its post and photographed; and nothing
    is done for good while one sits on another's."""
    stood = now.standing.get("positions", ())
    holds = stood if _for_good(sheet) or sheet.facts.positions else ()
    if not sheet.facts.positions or now.placed or stood:
        return holds
    words = f"{sheet.code} drills: the machines are not checked against their posts yet."
    return (stop("positions", words, "Check the posts and take the photo.", call=""), *holds)


def neck_gate(now: State, code: str) -> tuple[Finding, ...]:
    """The neck scanned is the neck that waits for this body."""
    if now.neck is None:
        words = f"{now.serial} has no neck: its pair was broken and no new neck is named."
        return (stop("neck", words, "The lead names the neck that is to be paired."),)
    if not code:
        return (
            stop(
                "neck scan",
                f"This makes the pair of {now.serial} and {now.neck}: the neck is not scanned yet.",
                "Scan the tag on the neck.",
                call="",
            ),
        )
    if sheet := no_proof(code, "the tag on the neck"):
        return sheet
    tag = Tag.objects.filter(code=code).select_related("neck").first()
    scanned = tag.neck if tag else None
    if tag is not None and scanned is not None and tag.void_why == "reprint":
        words = f"{pretty(code)} is void: {void_words(tag.void_why)}."
        return (stop("neck scan", words, "Scan the new tag of the neck. Cut this one up.", ""),)
    if tag is None or scanned is None or tag.void_at is not None:
        return (
            stop(
                "neck scan", f"{code} is no neck's tag.", "Scan the tag on the neck.", call="lead"
            ),
        )
    if scanned.pk == now.neck_id:
        return ()
    seen = Necks(scanned.serial, now.neck, _whose(scanned))
    return moment.paired(seen, Call(serial=now.serial, spec=now.sheet.spec, kit=()))


def _whose(neck: Neck) -> str:
    """The body this neck belongs to or waits for; empty where there is none yet."""
    found = Instrument.objects.filter(neck=neck).values_list("body__serial", flat=True)
    return found.first() or ""
