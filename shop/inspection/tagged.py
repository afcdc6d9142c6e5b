"""The instrument a page is about, and what is read in a scan on it."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest

from shop.craft.code import Reading, read
from shop.floor import board
from shop.floor.board import State

LONGEST = 300  # letters of a tag's address; what is longer is no tag of any shop


def tagged(code: str) -> State:
    """The instrument of a live body tag, or the plain page that says that there is none."""
    now = board.by_tag(code)
    if now is None:
        raise Http404
    return now


def scanned(request: HttpRequest, text: str) -> Reading:
    """The code in a scanned or typed text, bare or as an address of this shop."""
    own = {request.get_host().lower(), settings.ADDRESS.split("://")[1].lower()}
    return read(text.replace("\0", "")[:LONGEST], own)
