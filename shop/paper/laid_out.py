"""What the typesetter hands to the press."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A document as a PDF. ``pages`` are its own; behind them stand the letters that any
    copy of it may need, in the fonts it uses, so that they are embedded with it."""

    pdf: bytes
    pages: int
