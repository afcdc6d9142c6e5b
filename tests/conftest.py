"""What every test shares."""

from __future__ import annotations

import pytest

PLAIN_FILES = "django.contrib.staticfiles.storage.StaticFilesStorage"
QUICK_HASHER = "django.contrib.auth.hashers.MD5PasswordHasher"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The browser goes last: once it runs, Django takes this thread for an asynchronous one."""
    items.sort(key=lambda item: "browser" in item.path.parts)


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
