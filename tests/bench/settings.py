"""The shop's settings with two bare views beside it, to measure against on the same server."""

from shop.settings import *  # noqa: F403

ROOT_URLCONF = "tests.bench.bare"
