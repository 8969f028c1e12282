"""The weights: probabilities that add up, birth figures against a plain count, and the Fellegi-Sunter sum."""

from __future__ import annotations

import datetime
import math
from collections import Counter
from itertools import product
from random import Random

import pytest

from shared.records.standing import Person
from sync.matching import compare, weights
from sync.matching.comparison import ORDINARY_PRIOR
from sync.matching.dates import Birth, birth_date, birth_level
from sync.matching.names import Level
from sync.matching.population import Population
from sync.matching.record import record

TABLES = {
    "given": weights.GIVEN, "family": weights.FAMILY, "birth": weights.BIRTH, "postcode": weights.POSTCODE,
    "class": weights.CLASS, "grade": weights.GRADE, "street": weights.STREET, "guardian": weights.GUARDIAN,
}  # fmt: skip


@pytest.mark.parametrize("title", TABLES)
def test_every_table_is_two_distributions(title: str) -> None:
    ms, us = zip(*TABLES[title].values(), strict=True)
    assert sum(ms) == pytest.approx(1, abs=0.0015)
    assert sum(us) == pytest.approx(1, abs=0.0015)
    assert min(*ms, *us) > 0


def test_every_level_has_a_weight() -> None:
    assert set(weights.GIVEN) == set(Level) - {Level.UNKNOWN}
    assert set(weights.FAMILY) == set(Level) - {Level.UNKNOWN, Level.FORM}
    assert set(weights.BIRTH) == set(Birth) - {Birth.UNKNOWN, Birth.VAGUE}


def test_birth_figures_are_those_of_children_born_evenly_over_eight_years() -> None:
    chance, first = Random(5), datetime.date(2013, 1, 2)

    def born() -> str:
        while True:
            day = first + datetime.timedelta(days=chance.randrange(8 * 365))
            if (day.month, day.day) != (1, 1):
                return day.isoformat()

    met = 60_000
    counts = Counter(birth_level(birth_date(born()), birth_date(born())) for _ in range(met))
    for level, (_, u) in weights.BIRTH.items():
        assert counts[level] / met == pytest.approx(u, rel=0.25, abs=4 * math.sqrt(u / met)), level.name


def test_bits_of_independent_fields_add_up() -> None:
    """Fellegi and Sunter 1969: the weight of a pair is the sum of log2(m / u) over its fields."""
    one = Person("Ana", "García", "2016-03-14", class_name="3B")
    other = Person("Ana", "García", "2016-03-15", class_name="3C")
    expected = (
        math.log2(weights.GIVEN[Level.SAME][0] / weights.SHARED_NAME)
        + math.log2(weights.FAMILY[Level.SAME][0] / weights.SHARED_NAME)
        + math.log2(weights.BIRTH[Birth.ONE_DIGIT][0] / weights.BIRTH[Birth.ONE_DIGIT][1])
        + math.log2(0.10 / 0.70)
    )
    found = compare(one, other)
    assert found.weight == pytest.approx(expected)
    odds = 2 ** (expected + ORDINARY_PRIOR)
    assert found.probability == pytest.approx(odds / (1 + odds))


def test_a_rare_name_says_more_than_a_frequent_one() -> None:
    people = [Person("Ana", "García", f"2016-{at % 12 + 1:02}-{at % 28 + 1:02}") for at in range(80)]
    people += [Person("Xiomara", "Quispe", "2016-02-01"), Person("Xiomara", "Quispe", "2015-03-07")]
    population = Population([record(each) for each in people])
    frequent, rare = record(people[0]), record(people[-1])
    same = Level.SAME
    assert population.given_chance(frequent.given, frequent.given, same) > 10 * population.given_chance(
        rare.given, rare.given, same
    )
    assert population.family_chance(frequent.family, frequent.family, same) < 0.5  # drawn towards rare


def test_a_child_listed_often_does_not_make_its_own_name_look_common() -> None:
    others = [Person(f"Name{at}", "Mora", f"2016-05-{at + 1:02}") for at in range(25)]
    once, often = (
        Population([record(each) for each in others + [Person("Xiomara", "Quispe", "2016-02-01")] * times])
        for times in (2, 12)
    )
    name = record(Person("Xiomara", "Quispe")).given
    assert often.given_chance(name, name, Level.SAME, 1) == once.given_chance(name, name, Level.SAME, 1)


@pytest.mark.parametrize("born", ["", "2016-01-01"])
def test_a_name_is_common_also_where_no_birth_dates_are_known(born: str) -> None:
    people = [record(Person(f"Name{at}", "García", born)) for at in range(60)]
    name = people[0].family
    assert Population(people).family_chance(name, name, Level.SAME) > 0.3


def test_a_placeholder_date_says_less_where_many_bear_it() -> None:
    names = product(
        ("Ana", "Bruno", "Carla", "Diego", "Elsa", "Fidel", "Gael"), ("Mora", "Nieto", "Ortiz", "Paz")
    )
    shared = Population([record(Person(*each, "2016-01-01")) for each in names])
    day = birth_date("2016-01-01")
    assert shared.birth_chance(day, Birth.SAME) > 50 * Population().birth_chance(
        birth_date("2016-05-07"), Birth.SAME
    )


def test_one_letter_off_is_a_slip_only_where_nobody_bears_the_other_spelling() -> None:
    both = [Person("Ana", family) for family in ("Gonzalez", "Gonzalez", "Gonzales", "Gonzales", "Gonsalez")]
    population = Population([record(each) for each in both])
    gonzalez, gonzales, slip = (record(both[at]).family for at in (0, 2, 4))
    assert population.family_level(gonzalez, gonzales) == Level.ONE_OFF
    assert population.family_level(gonzalez, slip) == Level.SLIP
