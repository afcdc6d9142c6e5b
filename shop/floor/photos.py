"""Pictures kept with what was done: re-encoded, stripped of what the phone wrote into them,
and named after what their bytes hash to, so that none can be exchanged unseen."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings
from PIL import Image, ImageOps, UnidentifiedImageError

from shop.floor.models import Photo

FORMATS: Final = ("JPEG", "PNG", "WEBP")  # what phones send; no other reader is let near it
MAX_BYTES: Final = 12 * 1024 * 1024  # a photo of a good phone; common practice, no source
MAX_PIXELS: Final = 64_000_000
KEPT_PX: Final = 1600  # longest side: screws and marks can still be read
SMALL_PX: Final = 320  # of a small one: 160 on a screen of two pixels to one
QUALITY: Final = 80

TOO_MANY: Final = "This photo has too many pixels. Take it again smaller."
DAMAGED: Final = "The photo arrived damaged. Take it again."


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
    if not photo:
        raise Unreadable("The photo is empty. Take it again.")
    if len(photo) > MAX_BYTES:
        raise Unreadable("This photo is over 12 MB. Take it again at a smaller size.")
    try:
        upright = _upright(photo)
    except UnidentifiedImageError as why:
        raise Unreadable("This is no photo. Take one with the camera.") from why
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as why:
        raise Unreadable(TOO_MANY) from why
    except (OSError, SyntaxError, ValueError) as why:
        raise Unreadable(DAMAGED) from why
    out = io.BytesIO()
    # A new picture from the pixels alone: no place, no time, no maker of the phone.
    clean = Image.frombytes("RGB", upright.size, upright.tobytes())
    clean.save(out, "JPEG", quality=QUALITY, optimize=True)
    return Picture(out.getvalue(), hashlib.sha256(out.getvalue()).hexdigest())


def _upright(photo: bytes) -> Image.Image:
    """The picture as it was seen, at the size it is kept in."""
    with Image.open(io.BytesIO(photo), formats=FORMATS) as opened:
        # Judged before a single pixel is unpacked.
        if opened.width * opened.height > MAX_PIXELS:
            raise Unreadable(TOO_MANY)
        if photo.startswith(b"\xff\xd8") and _cut_short(photo):
            raise Unreadable(DAMAGED)
        opened.thumbnail((KEPT_PX, KEPT_PX))  # first: the rest then handles a small picture
        return ImageOps.exif_transpose(opened).convert("RGB")


def _cut_short(jpeg: bytes) -> bool:
    """Whether a JPEG lacks its end.

    Pillow refuses such a picture by itself until something else in the process, as printing
    does, tells it to make the best of it. The segments before the scan each give their own
    length, and in the scan a marker is never data (ITU-T T.81, B.1.1), so the first end of
    image from there on is the picture's own and not a preview's.
    """
    at = 2
    while jpeg[at : at + 1] == b"\xff" and jpeg[at + 1 : at + 2] != b"\xda":
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4])
    return b"\xff\xd9" not in jpeg[at:]


def keep(picture: Picture) -> None:
    """Write the picture to the disk, whole or not at all. The same one twice is one file.

    A file whose transaction then failed does no harm: its name is its own hash, no row names
    it, so it is shown to nobody, and the same picture sent again finds it there.
    """
    path = where(picture.sha256)
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=path.parent) as draft:
        draft.write(picture.jpeg)
        draft.flush()
        os.fsync(draft.fileno())
        # Two that keep the same picture at once write the same bytes: one name is enough.
        with contextlib.suppress(FileExistsError):
            os.link(draft.name, path)


def where(sha256: str) -> Path:
    """The file of the picture with this hash.

    Raises ``ValueError`` for what is no hash: it would lead out of the folder.
    """
    if not re.fullmatch("[0-9a-f]{64}", sha256):
        raise ValueError(f"{sha256!r} is no hash of a picture")
    folder: Path = settings.DATA_DIR / "photos"
    return folder / sha256[:2] / f"{sha256}.jpg"


def kept(sha256: str) -> bytes | None:
    """The picture with this hash, if it was kept with something that was done; else None."""
    if not Photo.objects.filter(sha256=sha256).exists():
        return None
    path = where(sha256)
    return path.read_bytes() if path.exists() else None


def small(sha256: str) -> bytes | None:
    """The same made small, for a list of several; as it is where it cannot be read any more.

    It lies in a folder of its own, which needs no backup: it is made anew where it is missing.
    """
    whole = kept(sha256)
    if whole is None:
        return None
    path = settings.DATA_DIR / "photos-small" / sha256[:2] / f"{sha256}.jpg"
    if path.exists():
        return bytes(path.read_bytes())
    out = io.BytesIO()
    try:
        with Image.open(io.BytesIO(whole), formats=FORMATS) as opened:
            opened.thumbnail((SMALL_PX, SMALL_PX))
            opened.convert("RGB").save(out, "JPEG", quality=QUALITY, optimize=True)
    except (OSError, SyntaxError, ValueError):
        return whole
    path.parent.mkdir(parents=True, exist_ok=True)
    # Two that make it at once write the same bytes: whichever is last under its name will do.
    with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as draft:
        draft.write(out.getvalue())
    Path(draft.name).replace(path)
    return out.getvalue()


def there(sha256: str) -> bool:
    """Whether the file of a picture is still on this machine."""
    try:
        return where(sha256).is_file()
    except ValueError:
        return False  # a name that is no hash leads to no file


def unharmed(sha256: str) -> bool:
    """Whether the file is there and still hashes to its name: another picture, or half of one,
    is not what was kept."""
    try:
        return hashlib.sha256(where(sha256).read_bytes()).hexdigest() == sha256
    except (OSError, ValueError):  # gone or unreadable; a name that is no hash leads to no file
        return False
