"""The commands: what they say, and that a shell understands them."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SCRIPTS = ("shop/run", "shop/set-up", "tests/run", ".ci/run")


def run(*words: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["bash", *words], cwd=cwd, capture_output=True, text=True, timeout=60)


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_shell_understands_the_script(script: str) -> None:
    checked = run("-n", script)
    assert (checked.returncode, checked.stderr) == (0, "")


def test_help_names_every_option_that_is_understood() -> None:
    understood = set(
        re.findall(r"^    (--[a-z-]+)(?: \||\))", (ROOT / "shop/run").read_text(), re.MULTILINE)
    )
    shown = run("shop/run", "--help")
    assert shown.returncode == 0
    assert understood == {
        *("--help", "--address", "--port", "--data", "--no-demo"),
        *("--lan", "--side-port", "--cert", "--key"),
    }
    assert understood <= set(re.findall(r"--[a-z-]+", shown.stdout))


def test_help_is_given_from_any_folder(tmp_path: Path) -> None:
    assert run(str(ROOT / "shop/run"), "--help", cwd=tmp_path).stdout.startswith("Usage:")


@pytest.mark.parametrize(
    ("command", "options"),
    [
        ("verify_journal", {"--seal": "an earlier seal that is to hold still"}),
        ("rebuild_floor", {"--check": "change nothing; say where the floor is not"}),
    ],
)
def test_a_command_of_the_journal_says_what_it_does(
    command: str, options: dict[str, str], tmp_path: Path
) -> None:
    shown = subprocess.run(
        [sys.executable, "manage.py", command, "--help"],
        cwd=ROOT,
        env={**os.environ, "HEELCAP_DATA": str(tmp_path), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert shown.returncode == 0
    for option, words in options.items():
        assert re.search(rf"{option}\b.*{re.escape(words)}", shown.stdout)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--prot", "8000"], "--prot is not an option here."),
        (["--port"], "--port needs a value."),
        (["--port", "eighty"], "--port eighty: give a number from 1 to 65535."),
        (["--port", "65536"], "--port 65536: give a number from 1 to 65535."),
        (["--address", "http://shop.lan"], "--address http://shop.lan: give a name or an IP"),
        (["--address=shop.lan:80"], "--address shop.lan:80: give a name or an IP"),
        (["--data", "/proc/heelcap"], "No right to write in /proc/heelcap."),
        (["--lan", "shop lan"], "--lan shop lan: give a name or an IP"),
        (["--lan", "--side-port", "0"], "--side-port 0: give a number from 1 to 65535."),
        (["--lan", "--cert", "a.pem"], "--lan makes a certificate, --cert brings one"),
        (["--cert", "a.pem"], "--cert and --key go together"),
        (["--cert", "a.pem", "--key", "a.key"], "--cert needs the name the certificate is of"),
    ],
)
def test_an_option_that_cannot_be_is_answered_in_one_sentence(words: list[str], said: str) -> None:
    answer = run("shop/run", *words)
    assert answer.returncode == 1
    assert answer.stderr.strip().startswith(said)
    assert "Traceback" not in answer.stdout + answer.stderr


def test_a_port_that_is_taken_is_said_before_anything_is_changed(tmp_path: Path) -> None:
    with closing(socket.create_server(("127.0.0.1", 0))) as taken:
        port = str(taken.getsockname()[1])
        answer = run("shop/run", "--port", port, "--data", str(tmp_path / "data"), "--no-demo")
    assert answer.returncode == 1
    assert f"Port {port} is taken." in answer.stderr
    assert list((tmp_path / "data").iterdir()) == []


def test_the_shop_needs_none_of_what_only_tests_need() -> None:
    """Above the mark stands what the shop imports; test tools stand below it."""
    mark = "# --- only what the tests need ---"
    shop, _, tests = (ROOT / "requirements.txt").read_text().partition(mark)
    assert re.search(r"^Django==5\.2\.", shop, re.MULTILINE)
    assert re.search(r"^pytest==", tests, re.MULTILINE)
    assert not re.search(r"^(?:pytest|playwright|mypy|ruff)", shop, re.MULTILINE)


def test_every_requirement_is_pinned_to_one_version() -> None:
    lines = (ROOT / "requirements.txt").read_text().splitlines()
    packages = [line for line in lines if line and not line.startswith("#")]
    assert [line for line in packages if not re.fullmatch(r"[\w-]+==[\w.]+", line)] == []
    names = [line.partition("==")[0].lower().replace("_", "-") for line in packages]
    assert sorted(set(names)) == sorted(names)
