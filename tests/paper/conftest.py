"""The demo workshop printed once for all tests, and the workshop itself where one is needed."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import transaction
from django.test import override_settings

from shop.floor.demo import loading
from tests.floor.morning import NOW, QUICK, _fresh, forget, morning
from tests.paper.printing import ADDRESS, Printed, print_all, release_more

__all__ = ["_fresh", "morning"]


@pytest.fixture(scope="session")
def printed(django_db_setup: None, django_db_blocker: Any) -> Printed:
    """Every form of an instrument of each spec. Nothing is left in the database.

    A module that uses this does not use ``morning``: there is one workshop at a time. It
    is marked ``django_db``, without which no tables are made for it.
    """
    with (
        django_db_blocker.unblock(),
        override_settings(PASSWORD_HASHERS=QUICK, ADDRESS=ADDRESS),
        transaction.atomic(),
    ):
        forget()
        loading.load(NOW)
        release_more()
        done = print_all()
        transaction.set_rollback(True)
    forget()
    return done
