"""Pictures kept with what was done: re-encoded, stripped of what the phone wrote into them,
and named after what their bytes hash to, so that none can be exchanged unseen."""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings
from PIL import Image, ImageOps, UnidentifiedImageError

FORMATS: Final = ("JPEG", "PNG", "WEBP")  # what phones send; no other reader is let near it
MAX_BYTES: Final = 12 * 1024 * 1024  # a photo of a good phone; common practice, no source
MAX_PIXELS: Final = 64_000_000
KEPT_PX: Final = 1600  # longest side: screws and marks can still be read
QUALITY: Final = 80


class Unreadable(Exception):
    """A picture that cannot be kept; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture ready to be kept."""

    jpeg: bytes
    sha256: str


def prepared(photo: bytes) -> Picture:
    """The photo upright, no larger than need be, with nothing in it but the picture.

    Raises ``Unreadable`` when it is no photo, too big, or damaged.
    """
    if len(photo) > MAX_BYTES:
        raise Unreadable("This photo is over 12 MB. Take it again at a smaller size.")
    try:
        with Image.open(io.BytesIO(photo), formats=FORMATS) as opened:
            if opened.width * opened.height > MAX_PIXELS:
                raise Unreadable("This photo has too many pixels. Take it again smaller.")
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except UnidentifiedImageError as why:
        raise Unreadable("This is no photo. Take one with the camera.") from why
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as why:
        raise Unreadable("The photo arrived damaged. Take it again.") from why
    upright.thumbnail((KEPT_PX, KEPT_PX))
    out = io.BytesIO()
    # A new picture from the pixels alone: no place, no time, no maker of the phone.
    clean = Image.frombytes("RGB", upright.size, upright.tobytes())
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Picture(out.getvalue(), hashlib.sha256(out.getvalue()).hexdigest())


def keep(picture: Picture) -> None:
    """Write the picture to the disk, whole or not at all. The same one twice is one file."""
    path = where(picture.sha256)
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as draft:
        draft.write(picture.jpeg)
        draft.flush()
        os.fsync(draft.fileno())
    Path(draft.name).replace(path)


def where(sha256: str) -> Path:
    """The file of the picture with this hash."""
    folder: Path = settings.DATA_DIR / "photos"
    return folder / sha256[:2] / f"{sha256}.jpg"
