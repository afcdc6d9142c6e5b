"""The journal as a chain: each row carries a link worked out from it and from the link before.

A row that was altered, taken out or put elsewhere no longer gives its link, and neither does
any row after it. The link is SHA-256 (FIPS 180-4) over the link before, a line feed, and the
row as one line of JSON: keys in order, no spaces, UTF-8, moments in UTC to the microsecond.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from shop.craft.when import in_utc
from shop.floor.models import Entry

FORM: Final = 2
"""The form rows are written in now. A row keeps the form it was written in for ever."""

FIELDS: Final[dict[int, tuple[str, ...]]] = {
    1: (
        "instrument_id", "seq", "key", "fingerprint", "subject", "kind", "outcome", "findings",
        "data", "reason", "by_id", "who", "beside", "corrects_id", "station", "device",
        "claimed_at", "at", "form",
    ),
    2: (
        "instrument_id", "seq", "key", "fingerprint", "subject", "kind", "outcome", "findings",
        "data", "reason", "by_id", "who", "beside", "corrects_id", "station", "device",
        "claimed_at", "at", "source", "sent_at", "received_at", "sent_by", "unproven",
        "sent_mark", "form",
    ),
}  # fmt: skip
"""The columns of a row that its link covers, by form: all that a row had then but
its number and link."""


def _plain(value: Any) -> str:
    if isinstance(value, datetime):
        return in_utc(value).isoformat(timespec="microseconds")
    if isinstance(value, UUID):
        return str(value)
    raise TypeError(f"{value!r} is not what a row of the journal is made of")


_in_one_line = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_plain
).encode


def line(said: Mapping[str, Any]) -> str:
    """A row, by its columns, as the one line of JSON its link is worked out from.

    Raises ``KeyError`` for a form that no row was ever written in.
    """
    return _in_one_line({name: said[name] for name in FIELDS[said["form"]]})


def link(said: Mapping[str, Any], before: str) -> str:
    """The link of a row, by its columns, after the link ``before``; of the first that is empty."""
    return hashlib.sha256(f"{before}\n{line(said)}".encode()).hexdigest()


def link_of(row: Entry, before: str) -> str:
    """The row's link after the link ``before``."""
    return link(vars(row), before)
