"""What a job has drawn and is about to record, kept on disk until it is printed.

Once one of its deeds is recorded, the journal holds the copies and codes of these very
pages: drawn again they would be others. So a job that was cut off while it recorded goes on
with the pages it had, and what was recorded already is told by the same keys.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from pikepdf import Pdf

from shop.floor.door import Printed
from shop.paper.forms import Form, form_of
from shop.paper.press import Drawn, Page, Sheaf
from shop.paper.stamps import Stamps


@dataclass(frozen=True, slots=True)
class Row:
    """The pages of one name, and what the journal is to say of them: nothing for a form that
    is of no instrument."""

    name: str
    first: int
    count: int
    deed: Printed | None

    @classmethod
    def of(cls, drawn: Drawn, form: Form) -> Row:
        page = drawn.page
        deed = None
        if page.next is not None:
            deed = Printed(
                instrument_id=page.thing.id,
                form=form.key,
                words=form.words,
                of=page.next.of,
                copy=page.next.copy,
                code=page.next.code,
                drawn_from=page.thing.seq,
                stands=page.stands,
            )
        return cls(page.name, drawn.first, drawn.count, deed)


@dataclass(frozen=True, slots=True)
class Draft:
    """Every page that was drawn, and pairs of a name and why it has none."""

    form: Form
    pdf: Pdf
    rows: tuple[Row, ...]
    refused: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, sheaf: Sheaf) -> Draft:
        rows = tuple(Row.of(one, sheaf.form) for one in sheaf.drawn)
        refused = tuple((name, str(why)) for name, why in sheaf.refused)
        return cls(sheaf.form, sheaf.pdf, rows, refused)

    def sheaf(self, names: set[str]) -> Sheaf:
        """The pages of these names alone."""
        drawn = [
            Drawn(Page(row.name, None, b"", Stamps(), None, ()), row.first, row.count)
            for row in self.rows
            if row.name in names
        ]
        return Sheaf(self.form, self.pdf, drawn)


def printed(key: UUID) -> Path:
    """Where the finished PDF of a job lies."""
    return settings.DATA_DIR / "prints" / f"{key}.pdf"


def _pages(key: UUID) -> Path:
    return printed(key).with_suffix(".draft.pdf")


def _rows(key: UUID) -> Path:
    return printed(key).with_suffix(".draft.json")


def keep(key: UUID, draft: Draft) -> None:
    """Both files are whole once the second of them is there."""
    said = {
        "form": draft.form.key,
        "rows": [asdict(row) for row in draft.rows],
        "refused": draft.refused,
    }
    _write(_pages(key), draft.pdf.save)
    _write(_rows(key), lambda path: path.write_text(json.dumps(said)))


def kept(key: UUID) -> Draft | None:
    """What this job had drawn when it began to record; None where it did not come so far."""
    if not there(key):
        return None
    said = json.loads(_rows(key).read_text())
    return Draft(
        form_of(said["form"]),
        Pdf.open(_pages(key)),
        tuple(Row(**{**row, "deed": _deed(row["deed"])}) for row in said["rows"]),
        tuple((name, why) for name, why in said["refused"]),
    )


def _deed(said: dict[str, Any] | None) -> Printed | None:
    if said is None:
        return None
    return Printed(**{**said, "stands": tuple((what, how) for what, how in said["stands"])})


def there(key: UUID) -> bool:
    return _rows(key).exists()


def drop(key: UUID) -> None:
    _rows(key).unlink(missing_ok=True)
    _pages(key).unlink(missing_ok=True)


def finish(key: UUID, pdf: bytes) -> None:
    _write(printed(key), lambda path: path.write_bytes(pdf))


def forget(key: UUID) -> None:
    """Everything kept of a job: the finished PDF too, and what a power cut left half written."""
    for path in printed(key).parent.glob(f"{key}.*"):
        path.unlink(missing_ok=True)


def _write(path: Path, write: Callable[[Path], Any]) -> None:
    """Written under another name, on the disk, and then moved: it is there whole or not at
    all, power cut or not."""
    path.parent.mkdir(mode=0o700, exist_ok=True)
    unfinished = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        write(unfinished)
        with unfinished.open("rb+") as written:
            os.fsync(written.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
