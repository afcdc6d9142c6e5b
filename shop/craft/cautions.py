"""Which cautions are of what maims, burns or makes ill: those are set large on paper.

The words are a workshop's own. One that is not known here is printed all the same, in the size
of the rest, so nothing hangs on this but how far off a caution is read.
"""

from __future__ import annotations

import re
from typing import Final

# Machines, dust, solvents, oily rags, lifting; common practice, no source.
GRAVE: Final = (
    "machine", "machines", "interlock", "guard", "guards", "wheel", "wheels", "blade", "blades",
    "sleeve", "sleeves", "eye protection", "ear protection",
    "dust", "mask", "masks", "extraction", "filings",
    "solvent", "solvents", "naphtha", "flame", "flames", "fumes", "fresh air", "steam",
    "rag", "rags",
    "lift", "lifts", "lifting", "heavy", "weigh", "weighs",
)  # fmt: skip

_GRAVE: Final = re.compile(rf"\b({'|'.join(map(re.escape, GRAVE))})\b", re.IGNORECASE)


def is_grave(caution: str) -> bool:
    """Whether a caution speaks of a machine, dust, a solvent, oily rags or lifting.

    >>> is_grave("Bone dust: mask."), is_grave("Lay it on felt, never on rubber.")
    (True, False)
    """
    return bool(_GRAVE.search(caution))
