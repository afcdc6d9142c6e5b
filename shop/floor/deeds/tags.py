"""Making tags and replacing them."""

from __future__ import annotations

import secrets
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any, ClassVar

from django.utils.timezone import localtime

from shop.craft.code import Kind, mint
from shop.craft.finding import Finding, stop
from shop.floor.deeds.deed import Act, Deed, Ground
from shop.floor.models import Body, Entry, Instrument, Neck, Tag


def new_tag(part: Body | Neck, at: datetime) -> Tag:
    """A tag for a body or neck that has none alive."""
    kind = Kind.BODY if isinstance(part, Body) else Kind.NECK
    while Tag.objects.filter(code=(code := mint(kind, secrets.randbelow))).exists():
        continue
    which = {"body": part} if isinstance(part, Body) else {"neck": part}
    return Tag.objects.create(code=code, made_at=at, **which)


@dataclass(frozen=True, slots=True)
class TagReplaced(Deed):
    """The tag with this code is lost or spoilt: void for ever, and a new one in its place."""

    kind: ClassVar[str] = "tag"
    code: str

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
        for number, seq in row.values_list("pk", "seq"):
            return Ground(part.serial, number, seq, tag)
        return Ground(part.serial, facts=tag)

    def gates(self, act: Act, ground: Ground) -> tuple[Finding, ...]:
        tag: Tag = ground.facts
        if tag.void_at is not None:
            return (
                stop(
                    "tag void",
                    f"{tag.code} is void since {localtime(tag.void_at):%Y-%m-%d}.",
                    "Replace the tag that is in use now.",
                    call="",
                ),
            )
        if not act.reason:
            return (
                stop("tag reason", "A tag is replaced for a reason.", "Say lost or spoilt.", ""),
            )
        return ()

    def write(self, act: Act, ground: Ground, entry: Entry) -> None:
        tag: Tag = ground.facts
        Tag.objects.filter(pk=tag.pk).update(void_at=act.at)
        part = tag.body or tag.neck
        assert part is not None  # the table's constraint: a tag hangs on one part
        new_tag(part, act.at)
