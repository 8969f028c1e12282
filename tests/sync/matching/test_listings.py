"""How many records a child has: the prior against a count of every arrangement, and what it says in plain cases."""

from __future__ import annotations

from collections import Counter
from itertools import product
from math import factorial, log2, prod

import pytest

from sync.matching import weights
from sync.matching.listings import Listings


def arrangements(
    records: int, children: int, chances: dict[int, float]
) -> Counter[frozenset[frozenset[int]]]:
    """The chance of every way to group so many records, by giving each to one of the children, all tried."""
    found: Counter[frozenset[frozenset[int]]] = Counter()
    for given in product(range(children), repeat=records):
        groups = [
            frozenset(at for at, child in enumerate(given) if child == each) for each in range(children)
        ]
        if all(groups):
            orders = factorial(records) / prod(factorial(len(each)) for each in groups)
            found[frozenset(groups)] += prod(chances[len(each)] for each in groups) / orders  # type: ignore[assignment]
    return found


@pytest.mark.parametrize("size", [1, 2, 3])
def test_the_prior_is_that_of_all_arrangements(size: int) -> None:
    """A group and a single record against the same made one, all else alike: every arrangement is counted."""
    sizes = [1] * 30 + [2] * 12 + [3] * 5 + [4] * 3
    listings = Listings(sizes)
    chances = {each: listings.share(each) for each in range(1, 6)}
    records = size + 2  # the group, the single one, and one more child
    group, single, other = frozenset(range(size)), frozenset([size]), frozenset([size + 1])
    apart = arrangements(records, 3, chances)[frozenset((group, single, other))]
    together = arrangements(records, 2, chances)[frozenset((group | single, other))]
    children = len(sizes) / 3  # the formula speaks of as many children as there are; here there were three
    assert listings.prior_bits(size) == pytest.approx(log2(together / apart) - log2(children))


def test_where_few_are_listed_twice_it_is_the_chance_of_any_pair() -> None:
    listings = Listings([1] * 940 + [2] * 30)
    assert listings.prior_bits(1) == pytest.approx(log2(30 / (1000 * 999 / 2)), abs=0.2)


def test_where_all_others_are_listed_twice_a_single_record_has_a_partner_and_a_pair_has_none() -> None:
    pairs, singles = Listings([2] * 450 + [1] * 100), Listings([2] * 30 + [1] * 940)
    assert pairs.prior_bits(1) > singles.prior_bits(1) + 5
    assert pairs.prior_bits(2) < pairs.prior_bits(1) - 5


def test_shares_add_up_and_nobody_is_an_ordinary_school() -> None:
    for sizes in ([], [1, 1, 2], [5] * 40):
        assert sum(Listings(sizes).share(each) for each in range(1, 60)) == pytest.approx(1)
    assert Listings([]).share(1) == pytest.approx(1 - weights.DUPLICATES)
