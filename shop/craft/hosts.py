"""Names of machines: which of them mean the same everywhere."""

from __future__ import annotations

from typing import Final

# Endings that nobody can have on the internet (RFC 6762, appendix G and section 3; ICANN 2024
# for "internal"). "localdomain" is what machines and routers call themselves by at first.
OWN_ENDINGS: Final = frozenset(
    {"local", "lan", "internal", "home", "localdomain", "intranet", "private", "corp"}
)


def of_the_internet(host: str) -> bool:
    """Whether a host, in small letters, has a name that means the same everywhere: no bare
    address, no single word, none of the endings kept for networks of one's own (as well
    ``home.arpa``, RFC 8375).

    >>> of_the_internet("shop.example.com"), of_the_internet("shop.lan")
    (True, False)
    """
    last = host.rpartition(".")[2]
    own = last in OWN_ENDINGS or last.isdigit() or host.endswith(".home.arpa")
    return "." in host and not own
