"""How an instrument leaves: by which operations of its route it is boxed and handed over.

A route says neither in so many words. What boxes it is the operation that looks for the papers
of its woods, after the release where there is one; what hands it over comes last after that.
"""

from __future__ import annotations

from typing import Final

from shop.craft.route import Route

COLD_C: Final = 10
"""Colder than this, in °C, a carton came in from the cold; common practice, no source."""
REST_H: Final = 24
"""So many hours one stays shut then, so that finish and wood warm slowly; common practice, no
source."""
DOCK_C: Final = (5, 40)
"""A dock is no colder and no warmer than this, in °C, while a carton waits on it; common
practice, no source."""


def releasing(route: Route) -> tuple[str, ...]:
    """The operations with which the record is frozen, in shop order."""
    return tuple(one.code for one in route.operations if one.freezes)


def boxing(route: Route) -> str:
    """The operation by which it is boxed with its papers; "" where the route has none."""
    papers = [one.code for one in route.operations if one.papers]
    released = releasing(route)
    if released:
        later = {code for one in released for code in route.after(one)}
        papers = [code for code in papers if code in later]
    return papers[0] if papers else ""


def handing(route: Route) -> str:
    """The operation by which it goes to the carrier, the last one after it is boxed; "" where
    the route has none."""
    boxed = boxing(route)
    after = route.after(boxed) if boxed else frozenset[str]()
    codes = [one.code for one in route.operations if one.code in after]
    return codes[-1] if codes else ""
