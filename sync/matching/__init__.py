"""Same-child matching: which records may be one child, how sure that is, and why, in words."""

from __future__ import annotations

from sync.matching.comparison import Comparison, compare
from sync.matching.dates import birth_date, birth_level
from sync.matching.names import family_level, given_level, name, sound
from sync.matching.pairs import Pair, find_pairs, lookalikes
from sync.matching.record import record

__all__ = ["Comparison", "Pair", "compare", "find_pairs", "forget", "lookalikes"]


def forget() -> None:
    """Drops every name and date that is kept in memory for speed; call it when the screen locks."""
    for kept in (name, sound, given_level, family_level, birth_date, birth_level, record):
        kept.cache_clear()
