"""Same-child matching: which records may be one child, how sure that is, and why, in words."""

from __future__ import annotations

from sync.matching.comparison import Comparison, compare
from sync.matching.pairs import Pair, find_pairs, lookalikes

__all__ = ["Comparison", "Pair", "compare", "find_pairs", "lookalikes"]
