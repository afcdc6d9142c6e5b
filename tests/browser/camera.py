"""The camera of the test browser: a short film in a file, which Chromium plays as if live."""

from __future__ import annotations

import io
from pathlib import Path

import qrcode
from PIL import Image

SIZE = (1280, 720)
WOOD = (176, 138, 96)
FRAMES = 3


def film(
    path: Path, text: str | None, module_px: int = 8, ground: tuple[int, int, int] = WOOD
) -> None:
    """Put a tag with this text before the camera, or bare wood for None.

    The film is a row of JPEG pictures (MJPEG), which Chromium reads afresh each time a page
    opens the camera.
    """
    picture = Image.new("RGB", SIZE, ground)
    if text is not None:
        code = qrcode.QRCode(error_correction=qrcode.ERROR_CORRECT_H, box_size=module_px, border=4)
        code.add_data(text)
        code.make()
        tag = code.make_image().get_image().convert("RGB")
        picture.paste(tag, ((SIZE[0] - tag.width) // 2, (SIZE[1] - tag.height) // 2))
    frame = io.BytesIO()
    picture.save(frame, "JPEG", quality=90)
    path.write_bytes(frame.getvalue() * FRAMES)
