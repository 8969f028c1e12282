"""How many records a child has here, and what that says before any evidence about two groups of records.

Where nearly every child is listed twice, a record without a partner has one somewhere, and one that has a partner
has no other; where few are, a child that is listed three times is likelier than others to be listed a fourth time.
Counted on the groups that the strong pairs make, drawn towards an ordinary school. No names, no dates.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from math import log2

from sync.matching import weights


class Listings:
    """The shares of children with one record, two records, and so on."""

    def __init__(self, sizes: Iterable[int]) -> None:
        self._counts = Counter(sizes)
        self._children = self._counts.total()

    def share(self, size: int) -> float:
        """The share of children with so many records."""
        if size == 1:
            ordinary = 1 - weights.DUPLICATES
        else:
            ordinary = weights.DUPLICATES * (1 - weights.LISTED_AGAIN) * weights.LISTED_AGAIN ** (size - 2)
        pseudo = weights.PSEUDO_CHILDREN
        return (self._counts[size] + pseudo * ordinary) / (self._children + pseudo)

    def prior_bits(self, size: int) -> float:
        """Log odds, in bits, that a group of so many records and a single record, met at random, are one child.

        Where children have one record, two records, ... with the chances f(1), f(2), ..., and all orders of the
        records are alike, one group of s + 1 records is to the two groups as (s + 1) f(s + 1) is to
        n f(s) f(1), with n children in all: the labelled partitions of either kind, counted.
        """
        together = (size + 1) * self.share(size + 1)
        return log2(together / (self._children * self.share(size) * self.share(1)))
