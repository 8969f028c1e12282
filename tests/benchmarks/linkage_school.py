"""Invented school days: a roster, children added on the tablets under names as they are heard, and who is who.

Names are common public given and family names, put together at random; no person, school or place is meant. The
share of twins (about 3 in 100 children) and of siblings is common practice, no source; the error rates are guesses
on the high side, written out in ``CHANGES``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from random import Random

from shared.records.standing import Person
from sync.matching import Pair
from sync.matching.given_names import BORNE
from sync.matching.nicknames import FORMS

FAMILY = """
garcia martinez rodriguez lopez hernandez gonzalez perez sanchez ramirez torres flores rivera gomez diaz reyes
morales cruz ortiz gutierrez chavez ramos ruiz alvarez mendoza vasquez castillo jimenez moreno romero herrera medina
aguilar vargas castro guzman fernandez mendez munoz salazar garza soto vazquez alvarado delgado pena contreras rios
guerrero sandoval ortega estrada nunez cabrera valdez maldonado fuentes espinoza padilla mejia acosta dominguez
smith johnson williams brown jones davis miller wilson anderson thomas taylor moore jackson martin lee thompson white
harris clark lewis robinson walker young allen king wright scott hill green adams nelson baker hall campbell mitchell
carter roberts turner phillips evans parker edwards collins stewart morris murphy cook rogers morgan cooper peterson
reed bailey kelly howard kim cox ward richardson watson brooks wood james bennett gray hughes price myers long foster
sanders ross powell sullivan russell fisher hayes jordan olson hoffman schmidt meyer weber novak kowalski nguyen tran
pham patel singh khan chen wang liu yang park choi silva santos oliveira costa ferreira rossi russo oconnor oneill
mcdonald fitzgerald macleod petrov ivanova haddad mansour okafor mensah abebe tesfaye
""".split()  # noqa: SIM905
LINES = [line.split() for line in FORMS.strip().split("\n")]
GIVEN = [line[0] for line in LINES] + BORNE.split()
PET_NAMES = {line[0]: line[1:] for line in LINES}

Change = Callable[["Day", Person], Person]


class Day:
    """One day at one school of about ``size`` children, with ``added`` children added on the tablets."""

    def __init__(self, seed: int, size: int = 600, added: int = 20) -> None:
        self.chance = Random(seed)
        self.people: dict[str, Person] = {}
        self.child: dict[str, int] = {}  # record id -> who it truly is
        self.twins: list[tuple[int, int]] = []
        self.changed: dict[str, str] = {}  # record id -> what was changed
        self._children = 0
        self._known: dict[int, Person] = {}
        while len(self.people) < size:
            self._family(listed=True)
        for _ in range(added):
            self._add()

    def _family(self, *, listed: bool) -> list[int]:
        """One to three children of one family, now and then twins."""
        family = self._family_name()
        together = self.chance.random() < 0.02
        count = 2 if together else self.chance.choices((1, 2, 3), (70, 25, 5))[0]
        born = self._birth()
        made: list[int] = []
        for _ in range(count):
            grade = str(2022 - int(born[:4]))
            taken = {self._known[each].given for each in made}
            given = next(name for name in iter(self._given_name, "") if name not in taken)
            person = Person(given, family, born, "", grade, grade + self.chance.choice("ABC"))
            self._children += 1
            self._known[self._children] = person
            made.append(self._children)
            if listed:
                number = f"S-{10000 + 7 * self._children}"
                self._put(f"r{self._children}", replace(person, student_number=number), self._children)
            if not together:
                born = self._birth()
        if together:
            self.twins.append((made[0], made[1]))
        return made

    def _add(self) -> None:
        """A child is added: one of the roster under another spelling, or a new one, perhaps on two tablets."""
        if self.chance.random() < 0.6:
            children = [self.chance.randrange(1, self._children + 1)]
        else:
            children = self._family(listed=False)[:2]
        for child in children:
            for _ in range(2 if self.chance.random() < 0.15 else 1):
                what = self.chance.choices(list(CHANGES), [share for share, _ in CHANGES.values()])[0]
                person = CHANGES[what][1](self, replace(self._known[child], added=True))
                identity = f"a{len(self.people)}"
                self._put(identity, person, child)
                self.changed[identity] = what

    def _put(self, identity: str, person: Person, child: int) -> None:
        self.people[identity] = person
        self.child[identity] = child

    def _given_name(self) -> str:
        """Few names are frequent, most are rare."""
        return GIVEN[min(int(self.chance.expovariate(1 / 90)) * 7 % len(GIVEN), len(GIVEN) - 1)].capitalize()

    def _family_name(self) -> str:
        first = FAMILY[min(int(self.chance.expovariate(1 / 45)), len(FAMILY) - 1)].capitalize()
        if self.chance.random() < 0.3:
            return f"{first} {FAMILY[self.chance.randrange(60)].capitalize()}"
        return first

    def _birth(self) -> str:
        year, month, day = (self.chance.randrange(*each) for each in ((2012, 2018), (1, 13), (1, 29)))
        return f"{year}-{month:02}-{day:02}"

    # What became of it

    def true_pairs(self) -> set[tuple[str, str]]:
        groups: dict[int, list[str]] = {}
        for identity in sorted(self.people):
            groups.setdefault(self.child[identity], []).append(identity)
        return {(a, b) for each in groups.values() for at, a in enumerate(each) for b in each[at + 1 :]}

    def cases(self) -> Counter[str]:
        return Counter(self._case(pair) for pair in self.true_pairs())

    def lost(self, pairs: Iterable[Pair]) -> Counter[str]:
        """True pairs that neither joining nor a person's decision can bring together, by what was changed."""
        found = _closure((each.a, each.b) for each in pairs)
        return Counter(self._case(pair) for pair in self.true_pairs() - found)

    def _case(self, pair: tuple[str, str]) -> str:
        """What sets the two apart: what was changed on the added one; of two added ones, on both."""
        changes = sorted({self.changed[one] for one in pair if one in self.changed} - {"nothing"})
        return "nothing" if not changes else changes[0] if len(changes) == 1 else "two of these"

    def judge(self, pairs: list[Pair]) -> Counter[str]:
        true_pairs = self.true_pairs()
        joined = _closure((each.a, each.b) for each in pairs if each.verdict == "automatic")
        doubts = [each for each in pairs if each.verdict == "doubt"]
        twins = {frozenset(each) for each in self.twins}
        return Counter(
            {
                "records": len(self.people),
                "true pairs": len(true_pairs),
                "true pairs, lost": sum(self.lost(pairs).values()),
                "automatic": len(joined),
                "automatic, wrong": len(joined - true_pairs),
                "twins": len(twins),
                "twins joined": sum(frozenset(self.child[one] for one in pair) in twins for pair in joined),
                "doubts": len(doubts),
                "doubts, true": sum((each.a, each.b) in true_pairs for each in doubts),
                "records in doubt": len({one for each in doubts for one in (each.a, each.b)}),
            }
        )


def _closure(pairs: Iterable[tuple[str, str]]) -> set[tuple[str, str]]:
    groups: dict[str, set[str]] = {}
    for a, b in pairs:
        both = groups.get(a, {a}) | groups.get(b, {b})
        for one in both:
            groups[one] = both
    return {(min(a, b), max(a, b)) for each in groups.values() for a in each for b in each if a != b}


# What happens to a name or a date on the way to a tablet. Each: how often, in 100; and what.


def _as_it_is(day: Day, person: Person) -> Person:
    return person


def _pet_name(day: Day, person: Person) -> Person:
    forms = PET_NAMES.get(person.given.lower())
    return replace(person, given=day.chance.choice(forms).capitalize()) if forms else person


def _one_of_two(day: Day, person: Person) -> Person:
    return replace(person, family=day.chance.choice(person.family.split()))


def _letter(day: Day, person: Person) -> Person:
    field = day.chance.choice(("given", "family"))
    word = getattr(person, field)
    at = day.chance.randrange(1, len(word) - 1) if len(word) > 2 else 1
    slip = day.chance.choice(
        (word[:at] + word[at + 1 :], word[:at] + day.chance.choice("aeinorst") + word[at + 1 :],
         word[:at] + word[at] + word[at:], word[: at - 1] + word[at - 1 : at + 1][::-1] + word[at + 1 :])
    )  # fmt: skip
    return replace(person, **{field: slip})


def _exchanged(day: Day, person: Person) -> Person:
    return replace(person, given=person.family, family=person.given)


def _day_and_month(day: Day, person: Person) -> Person:
    year, month, of_month = person.born.split("-")
    return replace(person, born=f"{year}-{of_month}-{month}") if int(of_month) < 13 else person


def _digit(day: Day, person: Person) -> Person:
    at = day.chance.choice((3, 6, 9))
    return replace(
        person, born=person.born[:at] + str((int(person.born[at]) + 1) % 10) + person.born[at + 1 :]
    )


def _no_birth(day: Day, person: Person) -> Person:
    return replace(person, born="")


def _placeholder(day: Day, person: Person) -> Person:
    return replace(person, born=person.born[:4] + "-01-01")


def _other_class(day: Day, person: Person) -> Person:
    return replace(person, class_name=person.grade + day.chance.choice("ABC"))


CHANGES: dict[str, tuple[int, Change]] = {
    "nothing": (30, _as_it_is),
    "pet name": (15, _pet_name),
    "one of two family names": (12, _one_of_two),
    "a letter": (15, _letter),
    "names exchanged": (3, _exchanged),
    "day and month exchanged": (4, _day_and_month),
    "one digit of the birth date": (6, _digit),
    "no birth date": (5, _no_birth),
    "placeholder date": (2, _placeholder),
    "another class": (8, _other_class),
}
