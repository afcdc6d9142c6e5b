"""Photos of tags, made here: a QR by qrcode, laid on a picture by Pillow."""

from __future__ import annotations

import io

import qrcode
from PIL import Image

WOOD = 168
TAG = "HTTP://192.168.1.20:8000/B7M49Q2"


def square(text: str, module_px: int = 6) -> Image.Image:
    """The tag's square with its four modules of margin, as it is printed."""
    code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_H, box_size=module_px, border=4)
    code.add_data(text)
    code.make()
    drawn: Image.Image = code.make_image().get_image()
    return drawn.convert("L")


def photo(
    *texts: str,
    size: tuple[int, int] = (1280, 960),
    turn: float = 0,
    ground: int = WOOD,
) -> Image.Image:
    """A picture with the tags side by side, each turned by ``turn`` degrees."""
    picture = Image.new("L", size, ground)
    for place, text in enumerate(texts):
        tag = square(text).rotate(turn, expand=True, fillcolor=ground)
        left = (2 * place + 1) * size[0] // (2 * len(texts)) - tag.width // 2
        picture.paste(tag, (left, (size[1] - tag.height) // 2))
    return picture


def as_bytes(picture: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    into = io.BytesIO()
    picture.save(into, kind, **options)
    return into.getvalue()
