"""What the address of the shop makes of its settings, in a process of its own each."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from shop.craft.hosts import of_the_internet

ROOT = Path(__file__).resolve().parents[2]
ASK = """
import json
from shop import settings
print(json.dumps([
    settings.SECURE_HSTS_SECONDS, settings.SECURE_HSTS_PRELOAD,
    settings.SECURE_HSTS_INCLUDE_SUBDOMAINS, settings.SECURE_SSL_REDIRECT,
    settings.SESSION_COOKIE_SECURE, settings.SECURE_PROXY_SSL_HEADER,
]))
"""
PROXY = ["HTTP_X_FORWARDED_PROTO", "https"]


def settings_of(data: Path, address: str, side: str = "") -> list[object]:
    around = {**os.environ, "HEELCAP_DATA": str(data), "HEELCAP_ADDRESS": address}
    around["HEELCAP_SIDE_ADDRESS"] = side
    told = subprocess.run(
        [sys.executable, "-c", ASK],
        cwd=ROOT,
        env=around,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    found: list[object] = json.loads(told)
    return found


@pytest.mark.parametrize(
    ("address", "side", "strict"),
    [
        ("https://heelcap.example", "", True),
        ("https://shop.works.com:8443", "", True),
        ("https://shop.works.com:8443", "http://shop.works.com:8080", False),
        ("https://shop.lan:8443", "", False),
        ("https://shop.local", "", False),
        ("https://192.168.1.20:8443", "", False),
    ],
)
def test_a_browser_is_bound_to_https_for_names_of_the_internet_alone(
    tmp_path: Path, address: str, side: str, strict: bool
) -> None:
    """RFC 6797, 8.3: once told, it goes to no port of the name over http, and the page beside
    the shop would be gone."""
    year = 31_536_000 if strict else 0
    assert settings_of(tmp_path, address, side) == [year, strict, strict, True, True, PROXY]


def test_over_http_nothing_of_it_is_on(tmp_path: Path) -> None:
    assert settings_of(tmp_path, "http://shop.lan:8000") == [0, False, False, False, False, None]


@pytest.mark.parametrize(
    ("host", "everywhere"),
    [
        ("heelcap.example", True),
        ("shop.works.co.uk", True),
        ("shop", False),
        ("localhost", False),
        ("shop.home.arpa", False),  # RFC 8375
        ("shop.local", False),  # RFC 6762
        ("shop.intranet", False),  # RFC 6762, appendix G, as the next two
        ("shop.private", False),
        ("shop.corp", False),
        ("shop.internal", False),  # ICANN board resolution 2024.07.29.06
        ("10.0.0.7", False),
        ("::1", False),
    ],
)
def test_names_of_ones_own_network_are_known(host: str, everywhere: bool) -> None:
    assert of_the_internet(host) is everywhere
