"""Making tags and replacing them."""

from __future__ import annotations

import secrets
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, ClassVar, Final, Literal

from django.db.models import QuerySet
from django.utils.timezone import localtime

from shop.craft.code import Kind, mint
from shop.craft.finding import Finding, stop
from shop.craft.route import Part
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.models import Body, Entry, Instrument, Tag

VOID: Final = {
    "lost": "it was lost",
    "spoilt": "it was spoilt",
    "moved": "it hung on the wrong part",
    "paired": "its neck was paired",
    "scrapped": "its part was scrapped",
    "reprint": "it was printed again",
}


def void_words(why: str) -> str:
    """Why a tag is void, as the end of a sentence."""
    return VOID.get(why, "another took its place")


def new_code(part: Part) -> str:
    """A code for a tag on a body or a neck that no tag ever had."""
    return new_codes(part, 1)[0]


def new_codes(part: Part, count: int) -> list[str]:
    """So many of them, in one statement."""
    return unused(Kind.BODY if part == "body" else Kind.NECK, count, Tag.objects.all())


def unused(kind: Kind, count: int, them: QuerySet[Any], column: str = "code") -> list[str]:
    """So many different codes of a kind that none of ``them`` bears in its ``column``, in one
    statement unless one was drawn that is taken."""
    codes: set[str] = set()
    while left := count - len(codes):
        drawn = {mint(kind, secrets.randbelow) for _ in range(left)}
        taken = them.filter(**{f"{column}__in": drawn}).values_list(column, flat=True)
        codes |= drawn.difference(taken)
    return list(codes)


@dataclass(frozen=True, slots=True)
class TagReplaced(Deed):
    """The tag with this code is lost or spoilt: void for ever, and a new one in its place.

    ``mark``: what was read on the part itself, on the body's block or the neck's heel.
    """

    kind: ClassVar[str] = "tag"
    code: str
    why: Literal["lost", "spoilt"] = "spoilt"
    mark: str = ""

    def plain(self) -> dict[str, Any]:
        return asdict(self)

    def ground(self) -> Ground:
        tag = (
            Tag.objects.select_for_update(of=("self",))
            .select_related("body", "neck")
            .filter(code=self.code)
            .first()
        )
        part = (tag.body or tag.neck) if tag else None
        if tag is None or part is None:
            raise LookupError(f"no tag {self.code}")
        which = {"body": part} if isinstance(part, Body) else {"neck": part}
        row = Instrument.objects.select_for_update(of=("self",)).filter(**which)
        for number, seq, link in row.values_list("pk", "seq", "link"):
            return Ground(part.serial, number, seq, link, tag)
        return Ground(part.serial, facts=tag)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        tag: Tag = ground.facts
        if tag.void_at is not None:
            since = f"{localtime(tag.void_at):%Y-%m-%d}"
            words = f"{tag.code} is void since {since}: {void_words(tag.void_why)}."
            return (stop("tag void", words, _instead(tag.void_why), call=""),)
        part = ground.subject
        if self.why == "lost" and self.mark != part:
            read = f"The mark read is {self.mark}" if self.mark else "No mark was read"
            words = f"{read}; the lost tag hung on {part}."
            then = "Read the mark on the neck block, or on the heel of a loose neck."
            return (stop("tag mark", words, then),)
        if not act.reason:
            return (
                stop("tag reason", "A tag is replaced for a reason.", "Say lost or spoilt.", ""),
            )
        return ()

    def settle(
        self, act: Act, ground: Ground, findings: tuple[Finding, ...], *, recorded: bool
    ) -> dict[str, Any]:
        tag: Tag = ground.facts
        return {"new": new_code("body" if tag.body_id else "neck")} if recorded else {}

    @classmethod
    def follow(cls, row: Entry) -> None:
        old = Tag.objects.get(code=row.data["code"])
        void(old, row.at, row.data["why"])
        Tag.objects.create(
            code=row.data["new"], made_at=row.at, body_id=old.body_id, neck_id=old.neck_id
        )


def _instead(why: str) -> str:
    if why == "paired":
        return "The body's tag speaks for both: replace that one."
    return "Nothing to do." if why == "scrapped" else "Replace the tag that is in use now."


def void(tag: Tag, at: datetime, why: str) -> None:
    """The tag is void from now on, for ever."""
    Tag.objects.filter(pk=tag.pk).update(void_at=at, void_why=why)
