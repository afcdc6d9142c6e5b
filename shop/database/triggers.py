"""Statements that a database keeps and runs by itself."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import connection, transaction


def run(statements: Iterable[str]) -> None:
    """Run these statements of the shop's own, all or none."""
    with transaction.atomic(), connection.cursor() as cursor:
        for one in statements:
            cursor.execute(one)
