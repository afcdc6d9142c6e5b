"""What every test shares."""

from __future__ import annotations

import os

import pytest

PLAIN_FILES = "django.contrib.staticfiles.storage.StaticFilesStorage"
QUICK_HASHER = "django.contrib.auth.hashers.MD5PasswordHasher"


# What these look at is the same whatever keeps the data: the trade's rules, which ask no
# database, and how screens look. They run in the pass on SQLite.
ON_ANY = (
    "tests/craft/",
    "tests/browser/test_lan.py",
    "tests/browser/test_screens.py",
    "tests/browser/test_weight.py",
    "tests/paper/test_damaged.py",
    "tests/phone/test_authority.py",
    "tests/test_house.py",
    "tests/test_words.py",
)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The browser goes last: once it runs, Django takes this thread for an asynchronous one.
    On PostgreSQL what is the same on any database is not tried a second time."""
    items.sort(key=lambda item: "browser" in item.path.parts)
    if os.environ.get("DATABASE_URL"):
        twice = [item for item in items if item.nodeid.startswith(ON_ANY)]
        config.hook.pytest_deselected(items=twice)
        items[:] = [item for item in items if not item.nodeid.startswith(ON_ANY)]


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
