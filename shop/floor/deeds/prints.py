"""Papers and tags leave the printer."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from django.utils.timezone import localtime

from shop.craft.code import Kind, pretty
from shop.craft.finding import Finding, stop, warn
from shop.craft.route import Part
from shop.floor.deeds.deed import Act, Deed, Ground, held
from shop.floor.deeds.tags import void
from shop.floor.models import Entry, Print, Tag
from shop.floor.state import State

TAGS: dict[str, Part] = {"body_tag": "body", "neck_tag": "neck"}
"""The forms that hang on a part, and the part: printed again they get a new code."""


@dataclass(frozen=True, slots=True)
class Printed(Deed):
    """One copy of a paper or tag was printed.

    ``of``: serial of the body or neck it is of. ``copy``: 1 for the first of its form.
    ``code``: the code that stands on it as its own, or the tag's; empty where it carries the
    code of something else. ``drawn_from``: how many rows the journal had when it was drawn.
    ``stands``: what it says that may change, in pairs of what and how.
    """

    kind: ClassVar[str] = "print"
    instrument_id: int
    form: str
    words: str
    of: str
    copy: int
    code: str
    drawn_from: int
    stands: tuple[tuple[str, str], ...] = ()

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        ground = held(self.instrument_id)
        if part := TAGS.get(self.form):
            ground.seen = (
                Tag.objects.select_for_update(of=("self",))
                .filter(**{f"{part}__serial": self.of}, void_at__isnull=True)
                .first()
            )
        return ground

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        now: State = ground.facts
        latest = latest_copy(now.id, self.form, self.of)
        if self.of not in {now.serial, now.neck}:
            words = f"{self.of} parted from {now.serial} while this was printed."
            return (stop("print part", words, "It is left out of this print.", call=""),)
        if self.copy != latest + 1:
            words = (
                f"Copy {latest} of the {self.words.lower()} of {self.of} was printed at the same "
                "moment."
            )
            then = "This one is left out. Print again if one is not enough."
            return (stop("print copy", words, then, call=""),)
        if self.form in TAGS:
            return self._of_tag(ground.seen)
        if self.code and Print.objects.filter(code=self.code).exists():
            words = f"{pretty(self.code)} was drawn for two papers at the same moment."
            return (stop("print code", words, "This one is left out. Print it again.", call=""),)
        return ()

    def _of_tag(self, tag: Tag | None) -> tuple[Finding, ...]:
        if tag is None:
            words = f"{self.of} has no tag in use."
            return (stop("print tag", words, "It is left out. Scan the body's tag.", call=""),)
        if tag.printed_at is None and self.code == tag.code:
            return ()
        if tag.printed_at is None or Tag.objects.filter(code=self.code).exists():
            words = f"The tag of {self.of} was replaced while this one was printed."
            return (stop("print tag", words, "It is left out. Print it again.", call=""),)
        since = f"{localtime(tag.printed_at):%Y-%m-%d %H:%M}"
        words = f"The {self.words.lower()} of {self.of} was printed {since} already."
        then = "Say why it is printed again. The old one is void then: cut it up."
        return (warn("print again", words, then),)

    @classmethod
    def follow(cls, row: Entry) -> None:
        said = row.data
        part = TAGS.get(said["form"])
        Print.objects.create(
            instrument_id=row.number,
            form=said["form"],
            words=said["words"],
            of=said["of"],
            copy=said["copy"],
            code="" if part else said["code"],
            drawn_from=said["drawn_from"],
            stands=said["stands"],
            at=row.at,
            entry=row,
        )
        if part:
            _hang(row, part)


def latest_copy(instrument_id: int, form: str, of: str) -> int:
    """The newest copy of this form; 0 where none was printed."""
    found = Print.objects.filter(instrument_id=instrument_id, form=form, of=of)
    latest: int | None = found.order_by("-copy").values_list("copy", flat=True).first()
    return latest or 0


def no_proof(code: str, scan: str) -> tuple[Finding, ...]:
    """What stands against a printed sheet being scanned where ``scan`` is to be: a sheet can
    lie anywhere, so it proves nothing of what lies beside it. Nothing for other codes, and
    nothing is asked of the database for them."""
    if not code.startswith(Kind.PAPER.value):
        return ()
    row = Print.objects.filter(code=code).values_list("words", "of").first()
    words = f"{pretty(code)} is a printed sheet."
    if row is not None:
        words = f"This is the {row[0].lower()} of {row[1]}."
    return (stop("print scan", words, f"Scan {scan}.", call=""),)


def _hang(row: Entry, part: Part) -> None:
    """The tag that was printed is the one in use from now on."""
    said = row.data
    live = Tag.objects.get(**{f"{part}__serial": said["of"]}, void_at__isnull=True)
    if live.code == said["code"]:
        Tag.objects.filter(pk=live.pk).update(printed_at=row.at)
        return
    void(live, row.at, "reprint")
    Tag.objects.create(
        code=said["code"],
        made_at=row.at,
        printed_at=row.at,
        body_id=live.body_id,
        neck_id=live.neck_id,
    )
