"""What every test shares."""

from __future__ import annotations

import os

import pytest

PLAIN_FILES = "django.contrib.staticfiles.storage.StaticFilesStorage"
QUICK_HASHER = "django.contrib.auth.hashers.MD5PasswordHasher"


# What these look at is the same whatever keeps the data: the trade's rules, which ask no
# database, how screens and prints look, and the pages of a room that keeps nothing itself and
# asks the rooms below, which are tried on both. They run in the pass on SQLite.
ON_SQLITE = (
    "tests/craft/",
    "tests/browser/test_lan.py",
    "tests/browser/test_screens.py",
    "tests/browser/test_weight.py",
    "tests/kitting/",
    "tests/paper/",
    "tests/phone/test_authority.py",
    "tests/test_house.py",
    "tests/test_words.py",
)
# A browser at work is as slow as a hand: its other ways run in the pass on PostgreSQL, where
# several phones at one moment meet; and so do the pages of the other such rooms.
ON_POSTGRESQL = ("tests/bench/", "tests/browser/", "tests/desk/", "tests/inspection/")
# What a phone keeps and sends is tried on both, but for the long run of hundreds: a lost answer
# is another thing on each. And so are the prints that are kept and made in the background.
ON_BOTH = (
    "tests/browser/test_outbox.py",
    *(f"tests/paper/test_{one}.py" for one in ("jobs", "printers", "printing", "worker")),
)
LONG = "test_five_hundred"


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The browser goes last: once it runs, Django takes this thread for an asynchronous one.
    Of the two passes of ``tests/run`` each leaves to the other what is tried once only."""
    items.sort(key=lambda item: "browser" in item.path.parts)
    if os.environ.get("HEELCAP_PASS"):
        elsewhere = [item for item in items if _elsewhere(item.nodeid)]
        config.hook.pytest_deselected(items=elsewhere)
        items[:] = [item for item in items if not _elsewhere(item.nodeid)]


def _elsewhere(test: str) -> bool:
    if test.startswith(ON_BOTH) and LONG not in test:
        return False
    if test.startswith(ON_SQLITE):
        return os.environ["HEELCAP_PASS"] != "sqlite"
    return test.startswith(ON_POSTGRESQL) and os.environ["HEELCAP_PASS"] != "postgresql"


@pytest.fixture(autouse=True)
def _quick(request: pytest.FixtureRequest) -> None:
    """PINs hashed at once and static files under their own names, where Django is in use.

    A test marked ``real_pins`` gets the shop's own hasher. The browser tests run the real
    server, with all of its settings.
    """
    if not request.config.pluginmanager.hasplugin("django"):
        return
    settings = request.getfixturevalue("settings")
    if not request.node.get_closest_marker("real_pins"):
        settings.PASSWORD_HASHERS = [QUICK_HASHER, *settings.PASSWORD_HASHERS]
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": PLAIN_FILES}}
    settings.STATIC_ROOT = None  # nothing is gathered for them
    settings.PRINT_WORKER = "apart"  # it would work on another database than theirs
