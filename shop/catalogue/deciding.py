"""What a lead decides on a revision: a rule's limit, and a substitute for an item.

Both are allowed on an open revision, which is never edited otherwise, and each is written
down with who, when and why. Whatever is decided redraws the revision.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Final

from django.db import transaction
from django.db.models import F

from shop.catalogue import book
from shop.catalogue.book import KitItem
from shop.catalogue.models import (
    CHILD_OF,
    Item,
    KitLine,
    LimitChange,
    SpecRevision,
    Substitute,
)
from shop.craft import fit
from shop.craft.finding import Finding, Severity, worst_first
from shop.craft.fit.rule import Limit
from shop.craft.hardware import Article, Picked, SpecFacts
from shop.craft.size import plain
from shop.craft.words import THIN

# A limit further from its default than this is a slip of the decimal point; common practice.
TIMES_AT_MOST: Final = 10
DECIMALS: Final = 3  # as many as a limit keeps
LETTERS: Final = 200  # of a reason


class NotReady(Exception):
    """This cannot be done to the revision; the message says why and what to do."""


def kit_findings(revision: SpecRevision) -> tuple[Finding, ...]:
    """What stands against the kit of this revision, and against each approved substitute in
    the place of what it stands in for; worst first."""
    now = SpecRevision.objects.select_related("spec").get(pk=revision.pk)
    spec, kit = now.facts(), book.kit_lines(now.pk)
    found = list(fit.kit(spec, [line.wanted for line in kit], _picked(kit)))
    approved = Substitute.objects.filter(line__kit__revision=now)
    for one in approved.select_related("line__item", *book.whole("item")):
        said = f"{one.item.key} in the place of {one.line.item.key}: "
        against = _with(spec, kit, one.line_id, one.item.facts())
        found += [replace(finding, words=said + finding.words) for finding in against]
    return worst_first(dict.fromkeys(found))


def _with(
    spec: SpecFacts, kit: Iterable[KitItem], line_id: int, article: Article
) -> tuple[Finding, ...]:
    """What an article stands against in the place of one line, beside what stands anyway."""
    before = tuple(kit)
    after = [replace(one, article=article) if one.line_id == line_id else one for one in before]
    known = fit.kit(spec, (), _picked(before))
    return tuple(one for one in fit.kit(spec, (), _picked(after)) if one not in known)


def _picked(kit: Iterable[KitItem]) -> list[Picked]:
    return [Picked(article=one.article, quantity=one.quantity) for one in kit]


def stops(findings: Iterable[Finding]) -> list[Finding]:
    """Those of the findings that keep a thing from being done."""
    return [one for one in findings if one.severity is Severity.STOP]


def told(findings: Iterable[Finding]) -> str:
    """The findings in one line: each rule, its words and the next step."""
    return " ".join(f"{one.rule}: {one.words} {one.then}" for one in findings)


def approve(
    line_id: int, item_key: str, approved_by: str, why: str, on: date
) -> tuple[Finding, ...]:
    """Approve an item in the place of the one a kit line calls for.

    Returns what is doubtful about it. Raises ``NotReady`` when it cannot stand in there or
    was approved before; ``KitLine.DoesNotExist`` for no such line.
    """
    with transaction.atomic():
        line = KitLine.objects.select_related("item", "kit").get(pk=line_id)
        revision = _held(line.kit.revision_id)
        item = Item.objects.filter(key=item_key).select_related(*CHILD_OF.values()).first()
        if item is None:
            raise NotReady(f"There is no item {item_key}. Choose one of the list.")
        if line.approved.filter(item=item).exists():
            raise NotReady(f"{item} is approved for {line.item} already.")
        _signed(approved_by, why)
        found = stand_in(line, item)
        Substitute.objects.create(
            line=line, item=item, approved_by=approved_by.strip(), why=why.strip(), on=on
        )
        renew([revision.pk])
    return found


def stand_in(line: KitLine, item: Item) -> tuple[Finding, ...]:
    """What is doubtful about an item in the place of the one this line calls for.

    Raises ``NotReady`` when it is out of use, of another family, stands in the kit already,
    or does not fit.
    """
    if item.obsolete:
        raise NotReady(f"{item} is out of use. Choose another one.")
    if item.family != line.item.family:
        raise NotReady(f"{item} cannot stand in for {line.item}: they are of two families.")
    revision = SpecRevision.objects.select_related("spec").get(pk=line.kit.revision_id)
    kit = book.kit_lines(revision.pk)
    if any(one.article.key == item.key for one in kit):
        raise NotReady(f"{item} is in this kit already. Choose another one.")
    found = _with(revision.facts(), kit, line.pk, item.facts())
    if against := stops(found):
        raise NotReady(f"{item} cannot go in: {told(against)}")
    return found


def set_limit(
    revision_id: int, name: str, value: Decimal | None, by: str, why: str, on: date
) -> None:
    """Set a rule's limit for one revision, open or not; no value gives the default back.

    ``name`` is the limit's: ``R06.least``. Raises ``NotReady`` when there is no such limit,
    the value cannot be or no reason is given; ``SpecRevision.DoesNotExist`` for no such
    revision.
    """
    limit = book.LIMITS.get(name)
    if limit is None:
        raise NotReady(f"There is no limit {name}. Choose one of the list.")
    _signed(by, why)
    with transaction.atomic():
        _held(revision_id)
        if value is not None:
            _can_be(limit, value)
        _leaves_room(limit, limit.value if value is None else value, revision_id)
        LimitChange.objects.create(
            revision_id=revision_id, name=name, value=value, by=by, on=on, why=why.strip()
        )
        renew([revision_id])


def _held(revision_id: int) -> SpecRevision:
    """The revision, held until the transaction ends."""
    held = SpecRevision.objects.select_for_update(of=("self",)).select_related("spec")
    return held.get(pk=revision_id)


def _signed(by: str, why: str) -> None:
    """Raises ``NotReady`` where a decision says not who made it and why."""
    if not by.strip():
        raise NotReady("Say who decided it.")
    if not 0 < len(why.strip()) <= LETTERS:
        raise NotReady(f"Say why, in a few words: {LETTERS} letters at most.")


def _can_be(limit: Limit, value: Decimal) -> None:
    """Raises ``NotReady`` where no shop would set this limit so."""
    most = limit.value * TIMES_AT_MOST or Decimal(1)
    if not value.is_finite() or not 0 <= value <= most:
        raise NotReady(
            f"{value} cannot be: {limit.name} lies between 0 and {plain(most)}{THIN}{limit.unit}. "
            "Check the decimal point."
        )
    if value != round(value, DECIMALS):
        raise NotReady(f"{value} is finer than is kept. Give {DECIMALS} decimals at most.")


def _leaves_room(limit: Limit, value: Decimal, revision_id: int) -> None:
    """Raises ``NotReady`` where a least would lie above its most."""
    force = {one.name: one.value for one in book.limits_of(revision_id)} | {limit.name: value}
    stem = limit.name.removesuffix("least").removesuffix("most")
    lower, upper = f"{stem}least", f"{stem}most"
    if {lower, upper} <= force.keys() and force[lower] > force[upper]:
        raise NotReady(
            f"{lower} {plain(force[lower])} would lie above {upper} {plain(force[upper])}: "
            "nothing could fit. Change the other one first."
        )


def renew(revisions: Iterable[int]) -> None:
    """Let whatever was drawn from these revisions be drawn again."""
    SpecRevision.objects.filter(pk__in=list(revisions)).update(version=F("version") + 1)
