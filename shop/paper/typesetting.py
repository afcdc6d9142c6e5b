"""Turns pages of HTML into one PDF, and lets them load nothing from outside.

Importing this module loads Pango and its kin; where they may be missing, ask
``press.typesetter`` for it.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit
from urllib.request import url2pathname

from django.conf import settings
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher

STATIC: Final[Path] = (settings.BASE_DIR / "static").resolve()
# One page is laid out at a time: the font library is shared, and a print of many
# instruments must not take the memory of several.
ONE_AT_A_TIME: Final = threading.Lock()


class Refused(Exception):
    """A page asked for something that paper may not load; the message names it."""


class OwnFilesOnly(URLFetcher):  # type: ignore[misc]
    """Loads what is written into the page itself and the project's own static files.

    ``refused`` keeps what was asked for in vain: inside a drawing the library passes over
    an error and goes on without the picture.
    """

    def __init__(self, folder: Path = STATIC) -> None:
        super().__init__(
            allowed_protocols=("data", "file"), allow_redirects=False, fail_on_errors=True
        )
        self.folder = folder.resolve()
        self.refused: list[str] = []

    def fetch(self, url: str, headers: Any = None) -> Any:
        """The resource. Raises ``Refused`` for anything else than data and own files."""
        parts = urlsplit(url)
        if parts.scheme == "data":
            return super().fetch(url, headers)
        if parts.scheme != "file" or parts.netloc:
            raise self._refusal(f"nothing from elsewhere, but a page asked for {url!r}")
        # Links and .. are followed before looking where the file really lies.
        path = Path(url2pathname(parts.path)).resolve()
        if not path.is_relative_to(self.folder) or not path.is_file():
            raise self._refusal(f"files of {self.folder} only, but a page asked for {url!r}")
        return super().fetch(path.as_uri(), headers)

    def _refusal(self, why: str) -> Refused:
        self.refused.append(f"Paper loads {why}.")
        return Refused(self.refused[-1])


@cache
def _fonts() -> Any:
    return FontConfiguration()


@cache
def _sheets(names: tuple[str, ...]) -> list[Any]:
    """Style sheets of static/paper, read once."""
    return [
        CSS(
            filename=STATIC / "paper" / f"{name}.css",
            url_fetcher=OwnFilesOnly(),
            font_config=_fonts(),
        )
        for name in names
    ]


def typeset(pages: Sequence[str], styles: tuple[str, ...], title: str) -> bytes:
    """One PDF of several HTML documents, each numbered from page 1.

    ``styles`` name style sheets in static/paper. Raises ``Refused`` when a page asks for
    something from outside.
    """
    fetcher = OwnFilesOnly()
    with ONE_AT_A_TIME:
        try:
            documents = [
                HTML(string=page, base_url=f"{STATIC.as_uri()}/", url_fetcher=fetcher).render(
                    font_config=_fonts(), stylesheets=_sheets(styles)
                )
                for page in pages
            ]
            whole = documents[0].copy([page for one in documents for page in one.pages])
            whole.metadata.title = title
            pdf: bytes = whole.write_pdf()
        except FatalURLFetchingError as stopped:
            raise Refused(str(stopped.__cause__ or stopped)) from stopped
    if fetcher.refused:
        raise Refused(fetcher.refused[0])
    return pdf
