"""The journal in sentences: what somebody did or tried, for a reader who was not there.

Each row is told from itself alone, with the names that its codes go by. What a kind of deed
says of itself is one small function; a kind that none knows is told plainly.
"""

from shop.floor.telling.rows import GROUPS, TELLERS, Group, Told, kinds_of, told
from shop.floor.telling.said import Mark, Names, stamp

__all__ = ["GROUPS", "TELLERS", "Group", "Mark", "Names", "Told", "kinds_of", "stamp", "told"]
