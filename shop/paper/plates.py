"""A page laid out once, from which copies with other figures are pulled.

The stand-ins of ``stamps.py`` are found in the laid out page by their colour. What is
between them is kept as it is, so a copy is the same picture as if it had been laid out by
itself. Sizes and places are points of the PDF, read by pikepdf.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from shop.paper.laid_out import LaidOut
from shop.paper.stamps import Stamp

COLOUR: Final = re.compile(rb"(?<![\d.])([\d.]+) ([\d.]+) ([\d.]+) rg\n")
BLACK: Final = b"0 0 0 rg\n"
FONT: Final = re.compile(rb"/(\S+) [\d.]+ Tf")
GLYPH: Final = re.compile(rb"<([0-9a-fA-F]{4})>")
MAPPED: Final = re.compile(rb"<([0-9a-fA-F]{4})> <([0-9a-fA-F]{4})>")
PAINTED: Final = re.compile(rb"\nf\n")


class Unplaced(Exception):
    """A stamp was not found where the page was laid out: the page has to be laid out whole."""


@dataclass(frozen=True, slots=True)
class Slot:
    """Room for one letter of a stamp. ``glyphs``: letters as the font at this place has them;
    ``laid_out``: what stands there now."""

    stamp: int
    letter: int
    glyphs: dict[str, bytes]
    laid_out: bytes


@dataclass(frozen=True, slots=True)
class SquareSlot:
    """Room for the square of a stamp, in units of one module."""

    stamp: int


Piece = bytes | Slot | SquareSlot


@dataclass(frozen=True, slots=True)
class Side:
    """A page of a plate: what it is drawn with and what is drawn, with room for the stamps."""

    box: tuple[float, ...]  # left, bottom, right, top
    drawn_with: pikepdf.Object
    pieces: tuple[Piece, ...]


class Plate:
    """The pages of one form as laid out for ``stamps``, any of which may be put in later."""

    def __init__(self, into: Pdf, form: LaidOut, stamps: Sequence[Stamp]) -> None:
        """Copies go into the document ``into``.

        Raises ``Unplaced`` when a stamp of these is not found whole.
        """
        laid_out = Pdf.open(io.BytesIO(form.pdf))
        self._into = into
        self._stand_ins = [one.stand_in for one in stamps]
        glyphs: dict[str, dict[str, bytes]] = {}
        sides = []
        found: set[int] = set()
        for number in range(form.pages):
            page = laid_out.pages[number]
            for name, font in page.Resources.get("/Font", {}).items():
                if name not in glyphs:
                    glyphs[name] = _letters(font)
            pieces = tuple(_pieces(page.Contents.read_bytes(), glyphs))
            found |= self._whole(pieces)
            drawn_with = into.copy_foreign(laid_out.make_indirect(page.Resources))
            sides.append(Side(tuple(map(float, page.mediabox.as_list())), drawn_with, pieces))
        if found != set(range(len(stamps))):
            raise Unplaced(f"Of {len(stamps)} stamps {len(found)} were found.")
        self._sides = sides

    def _whole(self, pieces: Sequence[Piece]) -> set[int]:
        """The stamps on a page, each with all its letters in order, as often as it stands."""
        counted: dict[int, list[Slot]] = {}
        for piece in pieces:
            if isinstance(piece, Slot):
                counted.setdefault(piece.stamp, []).append(piece)
            elif isinstance(piece, SquareSlot):
                counted.setdefault(piece.stamp, [])
        for stamp, slots in counted.items():
            if stamp >= len(self._stand_ins):
                raise Unplaced(f"There is no stamp {stamp}.")
            stand_in = self._stand_ins[stamp]
            length = len(stand_in)
            if len(slots) % length if length else slots:
                raise Unplaced(f"Of stamp {stamp}, {len(slots)} letters of {length} were found.")
            for slot in slots:
                letter = stand_in[slot.letter % length]
                # Counted alone, letters drawn in another order would get each other's figures.
                if slot.glyphs.get(letter) != slot.laid_out:
                    raise Unplaced(f"Of stamp {stamp}, {letter!r} is not in its place.")
        return set(counted)

    def pull(self, stamps: Sequence[Stamp]) -> int:
        """Add a copy with these stamps to the document; how many pages that is.

        Raises ``Unplaced`` for a letter that the type at its place does not have, before
        anything is added.
        """
        drawn = [_drawn(side.pieces, stamps) for side in self._sides]
        for side, content in zip(self._sides, drawn, strict=True):
            page = Dictionary(
                Type=Name.Page,
                MediaBox=Array(side.box),
                Resources=side.drawn_with,
                Contents=Stream(self._into, content),
            )
            self._into.pages.append(pikepdf.Page(self._into.make_indirect(page)))
        return len(drawn)


def _letters(font: pikepdf.Object) -> dict[str, bytes]:
    """The letters a font of the document holds, by what the font's own table says of them."""
    table = font.ToUnicode.read_bytes()
    return {chr(int(letter, 16)): b"<" + glyph + b">" for glyph, letter in MAPPED.findall(table)}


def _pieces(content: bytes, glyphs: dict[str, dict[str, bytes]]) -> list[Piece]:
    """A page's drawing cut at its stamps."""
    pieces: list[Piece] = []
    rest = 0
    letters: dict[int, int] = {}
    marks = list(COLOUR.finditer(content))
    for number, mark in enumerate(marks):
        stamp = _stamp_of(mark)
        if stamp is None:
            continue
        end = marks[number + 1].start() if number + 1 < len(marks) else len(content)
        pieces += [content[rest : mark.start()], BLACK]
        rest = mark.end()
        font = FONT.search(content, rest, end)
        if font is None:
            painted = PAINTED.search(content, rest, end)
            begins = content.find(b" m\n", rest, end)
            if painted is None or begins < 0:
                raise Unplaced(f"Nothing is drawn in the colour of stamp {stamp}.")
            begins = content.rfind(b"\n", rest, begins) + 1
            pieces += [content[rest:begins], SquareSlot(stamp)]
            rest = painted.start()
            continue
        table = glyphs.get(f"/{font[1].decode()}", {})
        for glyph in GLYPH.finditer(content, rest, end):
            letter = letters.get(stamp, 0)
            letters[stamp] = letter + 1
            pieces += [content[rest : glyph.start()], Slot(stamp, letter, table, glyph[0])]
            rest = glyph.end()
    pieces.append(content[rest:])
    return pieces


def _stamp_of(mark: re.Match[bytes]) -> int | None:
    """Which stamp a colour stands for: none for black and whatever else a form is drawn in."""
    red, green, blue = (round(float(part) * 255) for part in mark.groups())
    number = green << 8 | blue
    return number - 1 if red == 0 and number else None


def _drawn(pieces: Sequence[Piece], stamps: Sequence[Stamp]) -> bytes:
    parts = []
    for piece in pieces:
        if isinstance(piece, bytes):
            parts.append(piece)
        elif isinstance(piece, Slot):
            words = stamps[piece.stamp].words
            letter = words[piece.letter % len(words)]
            if letter not in piece.glyphs:
                raise Unplaced(f"The type has no {letter!r}.")
            parts.append(piece.glyphs[letter])
        else:
            square = stamps[piece.stamp].square
            if square is None:
                raise Unplaced(f"Stamp {piece.stamp} is no square.")
            parts.append(square.drawing)
    return b"".join(parts)
