"""The demo workshop and a lead's browser, for the tests of this room that want them."""

from tests.catalogue.office import office
from tests.floor.morning import _fresh, morning

__all__ = ["_fresh", "morning", "office"]
