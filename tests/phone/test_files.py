"""The static files as they are gathered for phones."""

from __future__ import annotations

import gzip
import re
import shutil
from pathlib import Path

import brotli
import pytest
from django.conf import settings as used
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import call_command
from pytest_django import Settings

from shop.phone.files import READER, WASM, reader_is_here

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def gather(settings: Settings, tmp_path: Path) -> Path:
    """A shop of three scripts of its own, and what the apps bring; returns where it lies."""
    source = tmp_path / "static"
    (source / "phone").mkdir(parents=True)
    long = 'import { codeIn } from "./code.js";\n' + 'codeIn("long enough to compress");\n' * 40
    (source / "phone/scanner.js").write_text(long)
    (source / "phone/code.js").write_text("export const codeIn = String;\n")
    settings.STATICFILES_DIRS = [source]
    settings.STATIC_ROOT = tmp_path / "gathered"
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "shop.phone.files.PhoneFiles"}
    }
    return source


def stored(name: str) -> str:
    """The hashed name under which a file was gathered."""
    return staticfiles_storage.url(name).removeprefix("/static/")


def _gathered() -> Path:
    # The admin brings many files and none that matter here.
    call_command("collectstatic", interactive=False, verbosity=0, ignore_patterns=["admin"])
    return Path(used.STATIC_ROOT)


def _fetch_reader(source: Path) -> None:
    """Stand-ins of the reader's three files, one importing another as the real ones do."""
    vendor = source / "vendor/zxing"
    (vendor / "es/reader").mkdir(parents=True)
    (vendor / "reader").mkdir()
    (vendor / "es/share.js").write_text("export const a = 1;\n")
    (vendor / "es/reader/index.js").write_text('import { a } from "../share.js";\n')
    (vendor / "reader/zxing_reader.wasm").write_bytes(b"\0asm\1\0\0\0")


def test_a_module_imports_the_other_by_its_hashed_name(gather: Path) -> None:
    gathered = _gathered()
    script = (gathered / stored("phone/scanner.js")).read_text()
    found = re.search(r'from ?"(\./code\.[0-9a-f]{12}\.js)"', script)
    assert found
    assert (gathered / "phone" / found[1]).exists()


def test_each_script_lies_compressed_beside_itself(gather: Path) -> None:
    script = _gathered() / stored("phone/scanner.js")
    whole = script.read_bytes()
    assert brotli.decompress(Path(f"{script}.br").read_bytes()) == whole
    assert gzip.decompress(Path(f"{script}.gz").read_bytes()) == whole


def test_an_address_in_a_comment_of_htmx_does_not_stop_the_gathering(gather: Path) -> None:
    gathered = _gathered()
    script = gathered / stored("django_htmx/ext/hx-sse-2.js")
    assert 'import("../htmx")' in script.read_text()


def test_a_module_of_our_own_that_imports_what_is_not_there_stops_the_gathering(
    gather: Path,
) -> None:
    (gather / "phone/code.js").write_text('import "./gone.js";\n')
    with pytest.raises(ValueError, match=r"gone\.js"):
        _gathered()


def test_without_the_fetched_reader_its_address_is_empty(gather: Path) -> None:
    _gathered()
    assert (staticfiles_storage.url(READER), staticfiles_storage.url(WASM)) == ("", "")
    assert not reader_is_here()


def test_with_the_fetched_reader_its_parts_find_each_other(gather: Path) -> None:
    _fetch_reader(gather)
    gathered = _gathered()
    assert reader_is_here()
    module = gathered / stored(READER)
    found = re.search(r'from "(\.\./share\.[0-9a-f]{12}\.js)"', module.read_text())
    assert found
    assert (module.parent / found[1]).exists()
    assert re.fullmatch(
        r"/static/vendor/zxing/reader/zxing_reader\.[0-9a-f]{12}\.wasm",
        staticfiles_storage.url(WASM),
    )


def test_any_other_file_that_is_missing_is_an_error(gather: Path) -> None:
    _gathered()
    with pytest.raises(ValueError, match=r"phone/gone\.css"):
        staticfiles_storage.url("phone/gone.css")


def test_our_own_scripts_come_without_what_only_their_readers_need(gather: Path) -> None:
    own = ROOT / "static/phone/scanner.js"
    assert "/**" in own.read_text()
    shutil.copy(own, gather / "phone/scanner.js")
    gathered = _gathered() / stored("phone/scanner.js")
    assert "/**" not in gathered.read_text()
    assert "\n * " not in gathered.read_text()
    assert "getUserMedia" in gathered.read_text()
    assert "nativeFails" in own.read_text()
    assert "nativeFails" not in gathered.read_text()


def test_a_script_of_a_package_comes_as_its_makers_want_it(gather: Path) -> None:
    assert "/**" in (_gathered() / stored("django_htmx/ext/hx-sse-2.js")).read_text()
