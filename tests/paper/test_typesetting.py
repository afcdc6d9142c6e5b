"""Paper loads nothing from outside."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.conf import settings

from shop.paper.typesetting import STATIC, OwnFilesOnly, Refused, lay_out
from tests.paper.reading import pages

OUTSIDE = [
    "file:///etc/hostname",
    f"{STATIC.as_uri()}/../manage.py",
    f"{STATIC.as_uri()}/paper/../../shop/settings.py",
    f"{STATIC.as_uri()}/%2e%2e/manage.py",
    f"{STATIC.as_uri()}/paper/%2E%2E/%2E%2E/manage.py",
    f"{STATIC.as_uri()}-beside/plain.css",
    f"{STATIC.as_uri()}/paper",
    f"{STATIC.as_uri()}/paper/gone.css",
    f"file://localhost{STATIC}/paper/plain.css",
    "FILE:///etc/hostname",
    "http://127.0.0.1:9/tag.png",
    "https://127.0.0.1:9/tag.png",
    "ftp://127.0.0.1/tag.png",
    "//127.0.0.1/tag.png",
    "paper/plain.css",
    "",
]


@pytest.mark.parametrize("url", OUTSIDE)
def test_an_address_outside_the_project_is_refused(url: str) -> None:
    with pytest.raises(Refused, match=r"^Paper loads"):
        OwnFilesOnly().fetch(url)


def test_a_link_that_leads_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    inside = tmp_path / "static"
    inside.mkdir()
    (tmp_path / "secret.css").write_text("* {}")
    (inside / "own.css").symlink_to(tmp_path / "secret.css")
    with pytest.raises(Refused):
        OwnFilesOnly(inside).fetch((inside / "own.css").as_uri())


def test_a_static_file_of_the_project_is_loaded() -> None:
    answer = OwnFilesOnly().fetch((STATIC / "paper" / "plain.css").as_uri())
    try:
        assert answer.read() == (STATIC / "paper" / "plain.css").read_bytes()
    finally:
        answer.close()


def test_what_is_written_into_the_page_is_loaded() -> None:
    assert OwnFilesOnly().fetch("data:text/css,*{color:black}").read() == b"*{color:black}"


@pytest.mark.parametrize(
    "asking",
    [
        '<img src="file:///etc/hostname">',
        '<img src="../manage.py">',
        '<link rel="stylesheet" href="http://127.0.0.1:9/a.css">',
        '<style>@import "https://127.0.0.1:9/a.css";</style>',
        '<style>body { background: url("file:///etc/hostname") }</style>',
        "<style>@font-face { font-family: f; src: url(http://127.0.0.1:9/f) }</style>",
        '<svg viewBox="0 0 1 1"><image href="file:///etc/hostname" width="1" height="1"/></svg>',
        '<object data="file:///etc/hostname"></object>',
        '<base href="file:///etc/"><img src="hostname">',
    ],
)
def test_a_page_that_asks_for_something_outside_is_not_printed_at_all(asking: str) -> None:
    with pytest.raises(Refused):
        lay_out(f"<html lang=en><body>{asking}tag</body></html>", ("plain",))


def test_a_document_tells_its_own_pages_from_the_letters_behind_them() -> None:
    """What a stamp may bring stands behind the document, so that the fonts hold it."""
    page = '<html lang=en><body>tag<p style="break-before: page">two</p></body></html>'
    laid_out = lay_out(page, ("plain",))
    read = [one.text for one in pages(laid_out.pdf)]
    assert laid_out.pages == 2
    assert read[:2] == ["tag", "two"]
    assert "0123456789" in "".join(read[2:])


PRESS = """
import os, time
from unittest import mock
import django
django.setup()
from shop.paper import typesetting
if __name__ == "__main__":
    with (
        mock.patch.object(typesetting, "processors", lambda: 2),
        typesetting.layouts(many=True) as lay_out,
    ):
        for laid_out in [lay_out("<html lang=en><p>7</p></html>", ("plain",)) for _ in range(4)]:
            laid_out()
        children = open(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read()
        print(children, flush=True)
        time.sleep(600)
"""


def test_the_processes_of_a_press_that_was_killed_end_with_it(tmp_path: Path) -> None:
    script = tmp_path / "press.py"
    script.write_text(PRESS)
    here = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "shop.settings",
        "HEELCAP_DATA": str(tmp_path),
        "PYTHONPATH": str(settings.BASE_DIR),
    }
    command = [sys.executable, str(script)]
    with subprocess.Popen(command, env=here, stdout=subprocess.PIPE, text=True) as press:
        assert press.stdout is not None
        children = [int(one) for one in press.stdout.readline().split()]
        assert len(children) >= 2
        press.send_signal(signal.SIGKILL)
    left = children
    for _ in range(300):
        left = [one for one in left if Path(f"/proc/{one}").exists()]
        if not left:
            break
        time.sleep(0.1)
    for one in left:
        os.kill(one, signal.SIGKILL)
    assert left == []
