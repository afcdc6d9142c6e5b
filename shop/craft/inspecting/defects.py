"""What each word for a defect means, so that two inspectors call one thing by one word.

The words stand in ``shop/craft/rework.py``; here each has its one line and the class it usually
has. The class is where an inspector begins, not what is decided. All common practice, no
source.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from shop.craft.rework import WORDS

Key = tuple[str, str]
"""A word with its family before it: the same word may stand in two families."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """A word for a defect, what it says, and its usual class: 1 critical to 4 note."""

    family: str
    word: str
    line: str
    usual_class: int

    @property
    def key(self) -> Key:
        return self.family, self.word


_LINES: Final[dict[str, dict[str, tuple[int, str]]]] = {
    "finish": {
        "chip": (2, "A piece of finish is gone, its edge sharp, wood or undercoat bare."),
        "crack": (2, "One line that goes through all the finish; a nail catches in it."),
        "check": (2, "Fine lines with the grain, in the finish only; a nail does not catch."),
        "crazing": (2, "A net of fine lines that cross, all over a patch of finish."),
        "craze at bushing": (3, "Fine lines in the finish, like rays from the hole of a bushing."),
        "sink": (3, "The finish has shrunk into pores or over a glue line; felt as a hollow."),
        "orange peel": (3, "The finish is pebbled all over like the peel of an orange."),
        "pit": (3, "A small hole with a round edge that the finish did not fill."),
        "run": (3, "Finish flowed while it was wet and dried as a drop or a curtain."),
        "dust nib": (3, "One raised speck under the finish, felt with a finger tip."),
        "swirl": (3, "Fine rings left by the polishing wheel, seen in raking light only."),
        "scratch": (3, "One line cut into the finish from outside; it does not reach the wood."),
        "burn-through": (2, "Sanded or polished through the finish: bare wood or colour shows."),
        "witness line": (3, "The edge of one coat shows like a contour line within the next."),
        "haze": (3, "The gloss is dull, clear to see through, and polishes out."),
        "blush": (3, "Milky white within the finish, from damp caught while it dried."),
        "fisheye": (3, "Round craters where wet finish drew back from grease or silicone."),
        "print": (3, "The pattern of lining, felt or packing is pressed into the finish."),
        "overspray": (3, "Rough dry spray where none belongs, as on board, binding or inside."),
        "drop-fill scar": (3, "An earlier fill shows: an edge round it, or another gloss."),
        "dent": (3, "Pressed in with the finish whole over it, as by a knock."),
    },
    "wood": {
        "split": (1, "Wood is parted right through along the grain: light or movement in it."),
        "crack": (1, "Wood has opened along the grain and ends within the part."),
        "tear-out": (3, "Fibres were pulled out of the face by a blade, leaving it rough."),
        "chip-out": (3, "A piece broke off an edge where a cutter came out."),
        "bruise": (3, "Fibres are crushed and none is gone; steam would raise them."),
        "twist": (2, "One end of the neck is turned against the other about its length."),
        "bow": (2, "The neck curves forward more than its rod can take out."),
        "back-bow": (2, "The neck curves back, its middle high, with the rod slack."),
        "hump": (2, "The board rises in one place, most often over the body joint."),
        "stain blotch": (3, "Stain took unevenly: a darker or lighter patch in one piece."),
        "mineral streak": (4, "A dark line grown in the wood itself; nothing was done to it."),
        "runout": (4, "The grain runs out of the face: halves of one wood look light and dark."),
    },
    "joint": {
        "gap": (2, "Air between two glued or fitted parts; a feeler or paper goes in."),
        "step": (3, "Two parts that should be level are not: one edge stands above the other."),
        "starved": (2, "Too little glue in a closed joint: no bead, and tapping sounds hollow."),
        "squeeze-out": (3, "Glue that was pressed out stands along the joint and was not cleaned."),
        "lift": (1, "An edge that was glued down comes up, such as the rear of the bridge."),
        "creep": (1, "Glued parts have slid along each other under load; still shut."),
        "loose brace": (2, "A brace inside is free at an end or along it; it buzzes when tapped."),
    },
    "fret": {
        "high": (2, "One fret stands over the line of its two neighbours; the straightedge rocks."),
        "low": (2, "One fret lies under the line of its neighbours; its own note buzzes."),
        "sprung end": (2, "One end of a fret has come up out of its slot, its middle sits."),
        "loose": (2, "A fret moves in its slot under a finger, or clicks when tapped."),
        "sharp end": (2, "The end of a fret was left pointed or with a burr; it scratches."),
        "flat crown": (3, "The top of a fret is wide and flat where it should be round."),
        "tool mark": (3, "A file or stone left lines on a fret that polish did not take out."),
        "sprout": (3, "All ends stand out of the board's edge, for the board has shrunk."),
    },
    "setup": {
        "buzz": (2, "A string strikes a fret between finger and bridge as it swings."),
        "back buzz": (
            2,
            "A stopped string swings between finger and nut and strikes a fret there.",
        ),
        "fret-out": (2, "A bent string touches a higher fret and the note dies in the bend."),
        "dead note": (2, "One note stops short at its fret on a string that else rings."),
        "rattle": (2, "A part other than a string sounds along: find which by touching it."),
        "wolf": (3, "One note booms or beats, for the body answers it far too well."),
        "high action": (2, "Strings over fret 12 are above the limit of this spec."),
        "low action": (2, "Strings over fret 12 are below the limit of this spec."),
        "low slot": (2, "A nut slot is cut too deep: the open string is too near fret 1."),
        "bind at slot": (2, "A string sticks in its nut slot, so tuning moves in jumps."),
        "ping": (3, "A click from nut or saddle while a string is tuned, its pitch still true."),
        "octave sharp": (2, "Fret 12 sounds higher than the octave of the open string."),
        "octave flat": (2, "Fret 12 sounds lower than the octave of the open string."),
        "wrong string": (2, "A string of another gauge or material than this place takes."),
        "wrong order": (2, "The right strings, but two or more have changed places."),
    },
    "hardware": {
        "wrong item": (2, "Another article than this guitar's list asks for."),
        "wrong hand": (
            1,
            "Made for the other hand: left on a right-handed guitar, or the reverse.",
        ),
        "wrong position": (2, "The right part in the wrong place: another post, hole or side."),
        "loose": (2, "A machine, button, pin or screw moves that should hold."),
        "cocked": (3, "A part sits askew: not square to the wood or to its neighbours."),
        "stripped": (2, "A screw turns and never grips: its thread, or the wood's, is gone."),
        "snapped": (2, "A part broke in two, such as a screw with its end left in the wood."),
        "tarnish": (3, "The metal has gone dull, spotted or another colour on its surface."),
        "mismatch": (2, "Good parts that do not go together: another colour or shape beside it."),
        "missing": (2, "A part that belongs on this guitar is not on it."),
    },
    "electric": {
        "dead string": (2, "Plugged in, one string is not heard at all."),
        "weak string": (2, "Plugged in, one string is clearly softer than its neighbours."),
        "hum": (2, "A low steady tone while no string sounds."),
        "crackle": (2, "It scratches when a control turns, or a plug or wire moves."),
        "no output": (2, "Plugged in, fresh battery, volume up: nothing is heard at all."),
        "battery missing": (3, "Its battery box is empty, or the cell is of another kind."),
    },
    "paper": {
        "missing": (3, "A paper, card or label that goes with this guitar is not there."),
        "wrong serial": (2, "A paper or label says another serial than the guitar."),
        "wrong label": (2, "The label is of another model, wood or hand than this guitar."),
    },
}

MEANINGS: Final[dict[Key, Meaning]] = {
    (family, word): Meaning(family, word, line, usual_class)
    for family, words in WORDS.items()
    for word in words
    for usual_class, line in (_LINES[family][word],)
}
"""The meaning of every word, in the order of ``WORDS``."""

_WORD: Final = re.compile(r"[^\W_]+(?:-[^\W_]+)*")


def find(
    text: str,
    texts: Mapping[Key, Sequence[str]] | None = None,
    among: Iterable[Meaning] = MEANINGS.values(),
) -> tuple[Meaning, ...]:
    """The meanings in which each word of ``text`` begins some word, best first; all of
    ``among`` where the text holds no word.

    A hit in the word counts before one in its family, and that before one in the line. Accents
    and capitals count for nothing. ``texts`` are what the reader's language says for a meaning:
    word, family and line in this order, as many as there are; either language is found.

    >>> [one.word for one in find("craz")]
    ['crazing', 'craze at bushing']
    >>> find("grieta mad", {("wood", "crack"): ("grieta", "madera")})[0].family
    'wood'
    """
    sought = _WORD.findall(_bare(text))
    ranked = [
        (rank, one)
        for one in among
        if (rank := _rank(sought, one, (texts or {}).get(one.key, ()))) is not None
    ]
    return tuple(one for _, one in sorted(ranked, key=lambda both: both[0]))


_WHOLE, _FIRST, _INSIDE, _FAMILY, _LINE = range(5)
"""Where a sought word was found, best first: it is the first of the word, begins it, stands
further in it, in the family, in the line."""

_Rank = tuple[int, int, bool]


def _rank(sought: Sequence[str], one: Meaning, told: Sequence[str]) -> _Rank | None:
    """How well a meaning answers, less is better: the worst of its hits, their sum, whether
    its word says more than was sought; ``None`` where something was not found."""
    tongues = [(one.word, one.family, one.line), tuple(told)]
    places = [place for tongue in tongues for place in _places(tongue)]
    hits = [_hit(part, places) for part in sought]
    found = [hit for hit in hits if hit is not None]
    if len(found) < len(hits):
        return None
    said = " ".join(sought)
    more = all(said != _bare(tongue[0]) for tongue in tongues if tongue)
    return (max(found, default=0), sum(found), more)


def _hit(part: str, places: Sequence[tuple[str, int]]) -> int | None:
    """The best place that a sought word begins; one with a hyphen also as its pieces."""
    joined = part.replace("-", "")
    found = [place for word, place in places if word.startswith((part, joined))]
    if any(word == part and place == _FIRST for word, place in places):
        return _WHOLE
    if found or "-" not in part:
        return min(found, default=None)
    pieces = [_hit(one, places) for one in part.split("-")]
    apart = [one for one in pieces if one is not None]
    return max(apart) if len(apart) == len(pieces) else None


def _places(texts: Sequence[str]) -> list[tuple[str, int]]:
    """Every word of a word, a family and a line, with where it stands."""
    found = []
    for text, place in zip(texts, (_INSIDE, _FAMILY, _LINE), strict=False):
        for number, word in enumerate(_parts(text)):
            first = place == _INSIDE and number == 0
            found.append((word, _FIRST if first else place))
    return found


def _parts(text: str) -> list[str]:
    """The words of a text without accents and capitals; one with a hyphen whole, as one word
    without it, and by its later parts.

    >>> _parts("Back-bow, línea")
    ['back-bow', 'backbow', 'bow', 'linea']
    """
    parts = []
    for word in _WORD.findall(_bare(text)):
        parts.append(word)
        if "-" in word:
            parts += [word.replace("-", ""), *word.split("-")[1:]]
    return parts


def _bare(text: str) -> str:
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(one for one in apart if not unicodedata.combining(one))
