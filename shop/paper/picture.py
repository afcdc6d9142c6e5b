"""A printed page as a picture, to look at before anything is printed."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Final

import pypdfium2

from shop.paper import press

DPI: Final = 150  # the smallest letters can be read
WIDEST_PX: Final = 1000  # a phone shows less, and a whole A4 would only take longer to come
POINTS_AN_INCH: Final = 72


def of_first_page(form: str, name: str, now: datetime) -> bytes:
    """The front of a form for one thing as a PNG. Nothing is recorded by it.

    Raises ``NotPrinted`` as the press does.
    """
    document = pypdfium2.PdfDocument(press.proof(form, [name], now))
    try:
        page = document[0]
        scale = min(DPI / POINTS_AN_INCH, WIDEST_PX / page.get_width())
        out = io.BytesIO()
        page.render(scale=scale).to_pil().convert("L").save(out, "PNG", optimize=True)
        return out.getvalue()
    finally:
        document.close()
