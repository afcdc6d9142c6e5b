"""``python -m shop.locale``: the words of each language, made ready where they have changed."""

from __future__ import annotations

from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po


def make_ready(folder: Path) -> list[Path]:
    """Write each language's messages as gettext reads them, beside the text they are kept in;
    those that are older than their text. Returns what was written."""
    made = []
    for text in sorted(folder.glob("*/LC_MESSAGES/*.po")):
        ready = text.with_suffix(".mo")
        if ready.exists() and ready.stat().st_mtime_ns >= text.stat().st_mtime_ns:
            continue
        with text.open("rb") as source:
            messages = read_po(source, locale=text.parts[-3])
        draft = ready.with_suffix(".new")
        with draft.open("wb") as to:
            write_mo(to, messages)
        draft.replace(ready)  # whole or not at all
        made.append(ready)
    return made


if __name__ == "__main__":
    make_ready(Path(__file__).parent)
