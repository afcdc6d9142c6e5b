"""Each marked machine on its own post: R26.

Where ratios are graduated or post heights fall toward the tip, all machines look alike and
each belongs to one string: its mark is the string's number.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from shop.craft.finding import Finding
from shop.craft.fit.rule import Case, rule
from shop.craft.head import posts


@dataclass(slots=True)
class PlacedCase(Case):
    """The marks read on the machines, by the key of the post each sits on."""

    marks: Mapping[str, str]


@rule("R26", "Each marked machine on the post of its string", reads=("marks",))
def on_its_post(case: PlacedCase) -> Iterator[Finding]:
    for post in posts(case.spec):
        mark = case.marks.get(post.key)
        if mark is None or mark == post.mark:
            continue
        yield case.stop(
            f"Machine marked {mark} is on the post of string {post.string}, {post.words}, "
            "seen from the FRONT.",
            f"Swap it before you drill: {post.mark} belongs there.",
            case.basis(
                ("Mark on the machine", mark),
                (f"Post {post.words}", f"string {post.string}"),
                limit="the mark is the string of the post",
            ),
        )


RULES = (on_its_post,)
