"""``manage.py print_worker``: print what waits, one job after another."""

from __future__ import annotations

import logging
import os
import time
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, connections

from shop.paper import working

AGAIN_S = 5  # until a database that went away is asked again

log = logging.getLogger(__name__)


class Command(BaseCommand):
    help = (
        "Print what waits, one job after another, at low priority; then end. "
        "One works at a time on a machine, another waits for it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--stay",
            action="store_true",
            help="do not end when nothing waits: for a service beside the server",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        stay: bool = options["stay"]
        os.nice(working.NICE)
        with working.turn(stay=stay) as mine:
            while mine:
                try:
                    self._work(stay, options["verbosity"])
                    return
                except OperationalError:
                    if not stay:
                        raise
                    log.exception("The database is not there. Asking again.")
                    connections.close_all()
                    time.sleep(AGAIN_S)

    def _work(self, stay: bool, verbosity: int) -> None:
        # It tells each task twice; what went wrong with a print the print itself logs.
        call_command(
            "db_worker",
            batch=not stay,
            startup_delay=False,
            reload=False,
            verbosity=max(0, verbosity - 1),
        )
