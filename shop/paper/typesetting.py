"""Turns pages of HTML into one PDF, and lets them load nothing from outside.

Importing this module loads Pango and its kin; where they may be missing, ask
``press.typesetter`` for it.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import cache, partial
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit
from urllib.request import url2pathname

from django.conf import settings
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import FatalURLFetchingError, URLFetcher

from shop.craft.code import SYMBOLS
from shop.paper.laid_out import LaidOut

STATIC: Final[Path] = (settings.BASE_DIR / "static").resolve()
# One page is laid out at a time: the font library is shared, and a print of many
# instruments must not take the memory of several.
ONE_AT_A_TIME: Final = threading.Lock()
MOST_AT_ONCE: Final = 4  # processes, each of about 100 MB
# Every letter a stamp may bring, in the styles of static/paper/plain.css it may stand in.
ALPHABET: Final = (
    '<html lang="en"><p>0123456789 <b>0123456789</b></p>'
    f'<p class="code">{SYMBOLS}</p><p class="code"><small>{SYMBOLS}</small></p></html>'
)


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


def lay_out(page: str, styles: tuple[str, ...]) -> LaidOut:
    """The pages of one HTML document. ``styles`` name style sheets in static/paper.

    Raises ``Refused`` when it asks for something from outside.
    """
    fetcher = OwnFilesOnly()
    with ONE_AT_A_TIME:
        try:
            own = _rendered(page, styles, fetcher)
            letters = _rendered(ALPHABET, styles, fetcher)
            pdf: bytes = own.copy([*own.pages, *letters.pages]).write_pdf()
        except FatalURLFetchingError as stopped:
            raise Refused(str(stopped.__cause__ or stopped)) from stopped
    if fetcher.refused:
        raise Refused(fetcher.refused[0])
    return LaidOut(pdf, len(own.pages))


def _rendered(page: str, styles: tuple[str, ...], fetcher: OwnFilesOnly) -> Any:
    document = HTML(string=page, base_url=f"{STATIC.as_uri()}/", url_fetcher=fetcher)
    return document.render(font_config=_fonts(), stylesheets=_sheets(styles))


def processors() -> int:
    """How many layouts can run side by side on this machine."""
    return min(len(os.sched_getaffinity(0)), MOST_AT_ONCE)


def _end_with_the_press() -> None:
    """A process that lays out for the press ends with it, killed or not: by itself it would
    wait for more to lay out for ever, and keep its memory."""
    press = multiprocessing.parent_process()
    if press is None:
        return

    def end() -> None:
        press.join()
        os._exit(1)

    threading.Thread(target=end, name="ends with the press", daemon=True).start()


Layout = Callable[[], LaidOut]
"""Gives the pages of a document, when they are there; raises what laying them out raised."""


@contextmanager
def layouts(many: bool) -> Iterator[Callable[[str, tuple[str, ...]], Layout]]:
    """Something that lays documents out: when asked for and in this process, or where there
    are many on every processor of the machine."""
    if not many or processors() == 1:
        yield lambda page, styles: partial(lay_out, page, styles)
        return
    # Fresh processes: the font library does not bear to be forked while it is in use.
    fresh = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processors(), fresh, _end_with_the_press) as pool:
        try:
            yield lambda page, styles: pool.submit(lay_out, page, styles).result
        finally:
            pool.shutdown(cancel_futures=True)
