"""Two records compared: the evidence for and against one child, in bits, and the reasons in words.

Fellegi-Sunter: each field gives bits for its level of agreement, and they add up. Reasons hold no names, dates or
results, except a class or grade that both share. Nothing here knows of third records.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp2
from typing import Literal

from shared.records.standing import Person
from sync.matching import weights
from sync.matching.dates import Birth, birth_level
from sync.matching.distance import one_off
from sync.matching.names import Level, accents_differ, two_given_names, written_alike
from sync.matching.population import Population, told_apart_by
from sync.matching.record import Record, record

Verdict = Literal["automatic", "doubt", "different"]


@dataclass(frozen=True, slots=True)
class Comparison:
    """``weight``: the evidence in bits, above nought speaks for one child; ``probability`` that it is one."""

    weight: float
    probability: float
    verdict: Verdict
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was found between two records; ``weight`` in bits, without the prior odds."""

    weight: float
    given: Level
    family: Level
    birth: Birth
    crossed: bool  # given and family name have changed places
    barred: bool  # whatever the weight, only a person may join these two
    against: bool  # something speaks against, so that more must speak for it
    two_numbers: bool  # two different student numbers
    twins: bool  # as twins would be: the same birth date and family name, and surely two given names


def compare(a: Person, b: Person) -> Comparison:
    """Compares two people as if they came from an ordinary school, about which nothing more is known."""
    first, second = record(a), record(b)
    found = weigh(first, second, NOWHERE)
    total = found.weight + ORDINARY_PRIOR
    return Comparison(found.weight, probability(total), verdict(found, total), reasons(first, second, found))


def verdict(found: Evidence, total: float) -> Verdict:
    """What to do with a pair by itself; ``total``: evidence and prior odds, in bits."""
    if total < weights.DOUBT:
        return "different"
    return "doubt" if found.barred or total < line(found) else "automatic"


def doubt_line(a: Record, b: Record) -> float:
    """The log odds, in bits, from which on a person is asked.

    A child that was added on the day is mostly one that was not found in the list, so that is asked about sooner.
    """
    return weights.DOUBT if a.added or b.added else weights.DOUBT_LISTED


def line(found: Evidence) -> float:
    """The log odds, in bits, from which on a pair is joined without a person."""
    if found.against:
        return weights.AUTOMATIC_AGAINST
    return weights.AUTOMATIC_FAMILY if Level.CLOSE < found.family < Level.UNKNOWN else weights.AUTOMATIC


def probability(total: float) -> float:
    """Log odds in bits as a probability."""
    return 1.0 / (1.0 + exp2(-max(min(total, 500.0), -500.0)))


def prior_bits(size: int) -> float:
    """Log odds, in bits, that two of ``size`` records met at random are one child."""
    chance = 2 * weights.DUPLICATES / max(size - 1, weights.ORDINARY_SIZE // 2)
    return weights.bits(chance, 1 - chance)


def surely_two(a: Record, b: Record) -> bool:
    """Whether the roster itself tells them apart: two numbers of its own, and not the same name and birth date.

    Twins with names alike stay two children here, however much else agrees.
    """
    if not two_on_the_roster(a, b):
        return False
    return a.given.whole != b.given.whole or a.born.digits != b.born.digits


def two_on_the_roster(a: Record, b: Record) -> bool:
    """Whether the roster lists these two under two numbers."""
    return bool(a.number and b.number) and a.number != b.number and not (a.added or b.added)


def weigh(a: Record, b: Record, population: Population) -> Evidence:
    """All evidence between two records."""
    names = _names(a, b, population)
    given, family = names.given, names.family
    birth = birth_level(a.born, b.born)
    total = names.bits + _birth_bits(a, b, birth, population)
    total += _school_bits(a, b) + _home_bits(a, b, population) + _number_bits(a, b)

    two_numbers = bool(a.number and b.number and a.number != b.number)
    no_slip = given > Level.CLOSE or (population.known_given(a.given) and population.known_given(b.given))
    nameless = given == Level.UNKNOWN and family == Level.UNKNOWN
    two_accents = given == Level.SAME and not names.crossed and accents_differ(a.given_shown, b.given_shown)
    two_years = birth < Birth.VAGUE and a.born.year != b.born.year
    other_birth = two_years or Birth.ONE_DIGIT < birth < Birth.VAGUE
    other_family = Level.CLOSE < family < Level.UNKNOWN
    only_family = birth == Birth.SAME and given < Level.UNKNOWN
    return Evidence(
        weight=total,
        given=given,
        family=family,
        birth=birth,
        crossed=names.crossed,
        barred=two_numbers or names.two or two_accents or birth == Birth.DIFFERENT,
        against=nameless or other_birth or (other_family and not only_family),
        two_numbers=two_numbers,
        twins=(names.two or two_accents)
        and not names.crossed
        and birth == Birth.SAME
        and family <= Level.CLOSE
        and no_slip,
    )


@dataclass(frozen=True, slots=True)
class Names:
    """What two records' names say: the levels, what they are worth in bits, whether the given names may be two."""

    given: Level
    family: Level
    bits: float
    crossed: bool
    two: bool


def _names(a: Record, b: Record, population: Population) -> Names:
    """Names as they stand; where they agree badly also crosswise, and the better explanation counts."""
    mine = len({told_apart_by(a), told_apart_by(b)})
    given, family = population.given_level(a.given, b.given), population.family_level(a.family, b.family)
    straight = Names(
        given,
        family,
        _name_bits(weights.GIVEN, given, population.given_chance(a.given, b.given, given, mine))
        + _name_bits(weights.FAMILY, family, population.family_chance(a.family, b.family, family, mine)),
        crossed=False,
        two=two_given_names(a.given, b.given, given),
    )
    if min(given, family) <= Level.PART:
        return straight
    one, other = population.family_level(a.given, b.family), population.family_level(a.family, b.given)
    if min(one, other) > Level.CLOSE:
        return straight
    bits = (
        weights.bits(weights.EXCHANGED, 1)
        + _name_bits(weights.FAMILY, one, population.family_chance(a.given, b.family, one, mine))
        + _name_bits(weights.FAMILY, other, population.family_chance(a.family, b.given, other, mine))
    )
    if bits <= straight.bits:
        return straight
    if Level.UNKNOWN in (one, other):
        return Names(one, other, bits, crossed=True, two=True)  # half of an exchange is no exchange
    two, another = two_given_names(a.given, b.family, one), two_given_names(a.family, b.given, other)
    first, second = population.rather_given(a.given, b.family), population.rather_given(a.family, b.given)
    if first != second:  # the names themselves tell which of them are the given names
        return Names(
            *((one, other) if first else (other, one)), bits, crossed=True, two=two if first else another
        )
    return Names(one, other, bits, crossed=True, two=two or another)


def _name_bits(table: weights.Table[Level], level: Level, chance: float) -> float:
    return 0.0 if level == Level.UNKNOWN else weights.bits(table[level][0], chance)


def _birth_bits(a: Record, b: Record, level: Birth, population: Population) -> float:
    if level == Birth.UNKNOWN:
        return 0.0
    if level == Birth.VAGUE:
        return 0.0 if a.born.year == b.born.year else weights.OTHER_YEAR_BITS
    return weights.bits(weights.BIRTH[level][0], population.birth_chance(a.born, level))


def _school_bits(a: Record, b: Record) -> float:
    if a.class_name and b.class_name:
        return weights.bits(*weights.CLASS[a.class_name == b.class_name])
    if a.grade and b.grade:
        return weights.bits(*weights.GRADE[a.grade == b.grade])
    return 0.0


def _home_bits(a: Record, b: Record, population: Population) -> float:
    total = 0.0
    postcode = population.postcode_level(a.postcode, b.postcode)
    if postcode:
        total += weights.bits(weights.POSTCODE[postcode][0], population.postcode_chance(a.postcode, postcode))
    if a.street and b.street:
        total += weights.bits(*weights.STREET[a.street == b.street])
    if a.guardian and b.guardian:
        total += weights.bits(*weights.GUARDIAN[a.guardian == b.guardian])
    return total


def _number_bits(a: Record, b: Record) -> float:
    if not (a.number and b.number):
        return 0.0
    if a.number == b.number:
        return weights.SAME_NUMBER_BITS
    miswritten = a.added or b.added or one_off(a.number, b.number)
    return weights.MISWRITTEN_NUMBER_BITS if miswritten else weights.TWO_NUMBERS_BITS


GIVEN_WORDS = {
    Level.SAME: "same given name",
    Level.FORM: "given names are forms of one name",
    Level.PART: "one given name is part of the other",
    Level.SLIP: "given name one letter off",
    Level.ONE_OFF: "given name one letter off",
    Level.CLOSE: "given names written much alike",
    Level.INITIAL: "one given name is the beginning of the other",
    Level.ALIKE: "given names somewhat alike",
    Level.SHARED: "given names share a part",
    Level.DIFFERENT: "different given names",
    Level.UNKNOWN: "a given name is missing",
}
FAMILY_WORDS = {
    Level.SAME: "same family name",
    Level.PART: "one family name is part of the other",
    Level.SLIP: "family name one letter off",
    Level.ONE_OFF: "family name one letter off",
    Level.CLOSE: "family names written much alike",
    Level.INITIAL: "one family name is the beginning of the other",
    Level.ALIKE: "family names somewhat alike",
    Level.SHARED: "family names share a part",
    Level.DIFFERENT: "different family names",
    Level.UNKNOWN: "a family name is missing",
}
#: Names that fold to the same but are not written the same: the person who decides sees both, and is told how.
FAMILY_WRITTEN = {
    "accents": "family names alike but for accents",
    "otherwise": "same family name, written otherwise",
}
GIVEN_WRITTEN = {
    "accents": "given names alike but for accents",
    "otherwise": "same given name, written otherwise",
}
BIRTH_WORDS = {
    Birth.SAME: "born the same day",
    Birth.SWAPPED: "day and month of birth exchanged",
    Birth.ONE_DIGIT: "birth date one digit off",
    Birth.DAY_MONTH: "same birthday, another year",
    Birth.YEAR_MONTH: "born in the same month",
    Birth.YEAR_DAY: "same day and year of birth, another month",
    Birth.YEAR: "born in the same year",
    Birth.DIFFERENT: "different birth dates",
    Birth.VAGUE: "a birth date looks like a placeholder",
    Birth.UNKNOWN: "a birth date is missing",
}


def _family_words(a: Record, b: Record, level: Level) -> str:
    written = written_alike(a.family_shown, b.family_shown) if level == Level.SAME else ""
    return FAMILY_WRITTEN.get(written, FAMILY_WORDS[level])


def _given_words(a: Record, b: Record, level: Level) -> str:
    written = written_alike(a.given_shown, b.given_shown) if level == Level.SAME else ""
    return GIVEN_WRITTEN.get(written, GIVEN_WORDS[level])


def reasons(a: Record, b: Record, found: Evidence) -> tuple[str, ...]:
    """The evidence in words for the person who decides: names, birth, school, home, number."""
    words: list[str] = []
    if found.crossed:
        words.append("given and family name exchanged")
    else:
        words += [_family_words(a, b, found.family), _given_words(a, b, found.given)]
    words.append(BIRTH_WORDS[found.birth])
    if a.class_name and b.class_name:
        words.append(f"both in {a.class_shown}" if a.class_name == b.class_name else "different classes")
    elif a.grade and b.grade:
        words.append(f"both in grade {a.grade}" if a.grade == b.grade else "different grades")
    if a.street and a.street == b.street:
        words.append("same address")
    if a.guardian and a.guardian == b.guardian:
        words.append("same guardian")
    if found.two_numbers:
        words.append("two different student numbers")
    elif a.number and a.number == b.number:
        words.append("same student number")
    return tuple(words)


NOWHERE = Population()
ORDINARY_PRIOR = prior_bits(weights.ORDINARY_SIZE)
