"""The fingerprint by which two people know that they hold the same certificate."""

from __future__ import annotations

from hashlib import sha256
from typing import Final

GROUP: Final = 4  # digits read in one breath


def fingerprint(der: bytes) -> tuple[str, ...]:
    """The SHA-256 of a certificate in groups, as it is read out and compared.

    >>> fingerprint(b"")[:3]
    ('E3B0', 'C442', '98FC')
    """
    digits = sha256(der).hexdigest().upper()
    return tuple(digits[at : at + GROUP] for at in range(0, len(digits), GROUP))
