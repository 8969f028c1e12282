"""Pairs: comparing, the twins rule, third records, decisions, and that nothing depends on the order."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.records.standing import Person
from sync.matching import Pair, compare, find_pairs, forget, lookalikes

ANA = Person("Ana", "García López", "2016-03-14", "", "3", "3B")
ON_THE_DAY = replace(ANA, added=True)


def verdicts(pairs: list[Pair]) -> dict[tuple[str, str], str]:
    return {(each.a, each.b): each.verdict for each in pairs}


def test_the_same_child_twice_is_joined_and_says_why() -> None:
    found = compare(ANA, replace(ON_THE_DAY, given="ANA", family="Garcia-Lopez"))
    assert found.verdict == "automatic"
    said = ("same family name, written otherwise", "same given name", "born the same day", "both in 3B")
    assert found.reasons == said
    assert found.probability > 0.99


def test_names_that_differ_only_in_their_accents_are_said_to() -> None:
    nunez = Person("Zoë", "Núñez Peral", "2018-03-14")
    plain = compare(nunez, Person("Zoe", "NUNEZ  PERAL", "2018-03-14"))
    assert plain.reasons[:2] == ("family names alike but for accents", "given names alike but for accents")
    typed = compare(
        nunez, Person("Zoe\u0308", "Nu\u0301n\u0303ez Peral", "2018-03-14")
    )  # the same, in pieces
    assert typed.reasons[:2] == ("same family name", "same given name")
    hyphen = compare(nunez, Person("Zoë", "Núñez-Peral", "2018-03-14"))
    assert hyphen.reasons[:2] == ("same family name, written otherwise", "same given name")


def test_reasons_in_words() -> None:
    found = compare(Person("Thomas", "Whitfield", "2015-07-02", class_name="4A"),
                    Person("Tommy", "Whitfeild", "2015-02-07", class_name="4B"))  # fmt: skip
    assert found.reasons == (
        "family name one letter off",
        "given names are forms of one name",
        "day and month of birth exchanged",
        "different classes",
    )
    assert (
        compare(Person("Thanh", "Nguyen"), Person("Nguyen", "Thanh")).reasons[0]
        == "given and family name exchanged"
    )


def test_different_children_are_different() -> None:
    found = compare(ANA, Person("Tyler", "Reed", "2015-07-27", "", "4", "4A"))
    assert found.verdict == "different"
    assert found.weight < 0


def test_a_shared_number_speaks_for_and_two_numbers_speak_against() -> None:
    plain = compare(ANA, ON_THE_DAY).weight
    assert (
        compare(replace(ANA, student_number="S-1"), replace(ON_THE_DAY, student_number="s 1")).weight > plain
    )
    apart = compare(replace(ANA, student_number="S-1"), replace(ANA, student_number="S-22"))
    assert apart.weight < plain
    assert apart.verdict != "automatic"
    assert "two different student numbers" in apart.reasons


def test_a_child_whom_the_roster_lists_under_two_numbers_is_a_doubt() -> None:
    people = {"r1": replace(ANA, student_number="S-1"), "r2": replace(ANA, student_number="S-22")}
    assert verdicts(find_pairs(people)) == {("r1", "r2"): "doubt"}


TWINS = [
    ("Ana", "María"), ("Jaden", "Jayden"), ("Jayden", "Kayden"), ("Mario", "Maria"), ("Daniel", "Daniela"),
    ("Alexa", "Alexis"), ("Jack", "John"), ("Ana Sofía", "Ana María"), ("Ana Marta", "Ana María"),
    ("Ana M.", "Ana S."), ("Van Anh", "Duy Anh"), ("Minh Anh", "Minh Chau"), ("Luis", "Luisa"),
    ("Gabriel", "Gabriella"), ("Ella", "Emma"), ("Jaylen", "Jaylin"), ("Zaydon", "Jaydon"), ("Emil", "Emily"),
    ("Alexander", "Alexandra"), ("Kiana", "Kiara"), ("Marina", "Martina"),
]  # fmt: skip


@pytest.mark.parametrize(("one", "other"), TWINS)
@pytest.mark.parametrize("numbered", ["both", "one", "none"])
def test_twins_are_never_joined(one: str, other: str, numbered: str) -> None:
    first = Person(one, "Okafor", "2016-03-14", "S-1" if numbered != "none" else "", "3", "3B", added=False)
    second = Person(other, "Okafor", "2016-03-14", "S-2" if numbered == "both" else "", "3", "3B", added=True)
    assert compare(first, second).verdict != "automatic"
    assert "automatic" not in verdicts(find_pairs({"r1": first, "r2": second})).values()


@given(st.sampled_from(TWINS), st.sampled_from(TWINS))
def test_twins_stay_two_whatever_else_agrees(one: tuple[str, str], other: tuple[str, str]) -> None:
    home = {"guardian": "A B", "address": ("1 Elm St", "Springvale 00000"), "class_name": "3B", "grade": "3"}
    people = {
        f"r{at}": Person(given, "Quispe", "2016-03-14", added=True, **home)  # type: ignore[arg-type]
        for at, given in enumerate(dict.fromkeys((*one, *other)))
    }
    group = {identity: {identity} for identity in people}
    for each in find_pairs(people):
        if each.verdict == "automatic":  # Ana may be Ana María; but then nobody is both twins
            joined = group[each.a] | group[each.b]
            group.update(dict.fromkeys(joined, joined))
    for members in group.values():
        names = {people[identity].given for identity in members}
        assert not names.issuperset(one) and not names.issuperset(other)


@pytest.mark.parametrize(("one", "other", "between"), [
    ("Van Anh", "Duy Anh", "Anh"), ("Ana María", "Ana Sofía", "Ana"), ("Ana M.", "Ana S.", "Ana"),
    ("Alexander", "Alexandra", "Alex"), ("Daniel", "Daniela", "Dani"), ("Alejandro", "Alejandra", "Ale"),
])  # fmt: skip
def test_no_third_record_bridges_twins(one: str, other: str, between: str) -> None:
    people = {
        identity: Person(given, "Quispe", "2016-03-14", "", "3", "3B", added=True)
        for identity, given in (("a", one), ("b", other), ("c", between))
    }
    assert "automatic" not in verdicts(find_pairs(people)).values()


@pytest.mark.parametrize("added", ["Thao", "Thảo", "THẢO"])
def test_nobody_is_two_children_of_the_roster_in_silence(added: str) -> None:
    """Alike but for an accent, with two numbers: twins, or one child listed twice. Only a person may say."""
    thao = Person("Thảo", "Nguyễn", "2016-03-14", "S-1", "3", "3B")
    people = {
        "r1": thao,
        "r2": replace(thao, given="Thao", student_number="S-2"),
        "a1": replace(thao, given=added, student_number="", added=True),
    }
    assert "automatic" not in verdicts(find_pairs(people)).values()
    decided = {"together": [frozenset(("a1", "r1"))]}
    assert set(verdicts(find_pairs(people, **decided)).values()) == {
        "doubt"
    }  # is the other the same one, too?
    both = {"together": [frozenset(("r1", "r2"))]}
    assert "automatic" in verdicts(find_pairs(people, **both)).values()  # one child by a person's word


@pytest.mark.parametrize(
    ("one", "other", "two"),
    [
        ("Hà", "Hạ", True), ("Đức", "Đúc", True), ("Nguyễn", "Nguyên", True), ("María José", "José María", True),
        ("Xin Yi", "Yi Xin", True), ("José María", "Jose María", False), ("Zoë", "Zoe", False), ("Ngọc", "NGỌC", False),
        ("Zoe\u0308", "Zoë", False), ("أحمد", "احمد", False),
    ],
)  # fmt: skip
def test_two_different_accents_and_names_in_another_order_may_be_two_children(
    one: str, other: str, two: bool
) -> None:
    first = Person(one, "Okafor", "2016-03-14", "S-1", "3", "3B")
    assert (
        compare(first, replace(first, given=other, student_number="", added=True)).verdict != "automatic"
    ) == two


def test_no_name_is_so_long_that_comparing_takes_long() -> None:
    people = {
        f"r{at}": Person("x" * 20_000 + str(at), "y" * 20_000, "2016-03-14", added=True) for at in range(30)
    }
    assert len(find_pairs(people)) <= 435


def test_an_added_twin_is_joined_with_itself_and_not_asked_about_the_other() -> None:
    """The roster tells the twins apart, so only one of them can be meant."""
    people = {
        "r1": replace(ANA, student_number="S-1"),
        "r2": replace(ANA, given="María", student_number="S-2"),
        "a1": ON_THE_DAY,
    }
    assert verdicts(find_pairs(people)) == {("a1", "r1"): "automatic"}


def test_a_pet_name_that_fits_two_children_is_asked_about() -> None:
    novak = Person("Alexander", "Novak", "2014-11-05", "S-7", "5", "5A")
    people = {
        "r1": novak,
        "r2": replace(novak, given="Alexandra", student_number="S-8"),
        "a1": replace(novak, given="Alex", student_number="", added=True),
    }
    assert verdicts(find_pairs(people)) == {("a1", "r1"): "doubt", ("a1", "r2"): "doubt"}


def test_who_is_written_exactly_like_one_twin_is_that_twin() -> None:
    """A twin whose name is only alike is no rival; one who may be meant by the name is (see the pet name above)."""
    eliza = replace(ANA, given="Eliza", student_number="S-1")
    people = {
        "r1": eliza,
        "r2": replace(eliza, given="Elisa", student_number="S-2"),
        "a1": replace(eliza, student_number="", added=True),
    }
    assert verdicts(find_pairs(people)) == {("a1", "r1"): "automatic"}


@pytest.mark.parametrize(("one", "other"), [("Jaden", "Jayden"), ("Mario", "Maria"), ("Kiana", "Kiara")])
def test_twins_are_not_joined_by_exchanging_the_names_of_one(one: str, other: str) -> None:
    first, second = Person(one, "Okafor", "2016-03-14"), Person("Okafor", other, "2016-03-14", added=True)
    assert compare(first, second).verdict != "automatic"
    assert "automatic" not in verdicts(find_pairs({"r1": first, "a1": second})).values()


def test_three_that_may_be_one_are_two_questions_and_the_third_is_asked_when_it_matters() -> None:
    """Whoever says that a is b and b is c has said that a is c; whoever says no is asked about the rest."""
    given = {"a": "Rosie", "b": "Yasmin", "c": "Tara"}
    people = {each: Person(name, "Quilliam", "2015-07-12", added=True) for each, name in given.items()}
    first = verdicts(find_pairs(people))
    assert list(first.values()) == ["doubt", "doubt"]
    no, yes = (frozenset(each) for each in first)
    assert find_pairs(people, together=[no, yes]) == []
    assert len(find_pairs(people, apart=[no])) == 2
    assert find_pairs(people, apart=[no], together=[yes]) == []


def test_a_difference_that_both_sides_repeat_is_hardly_a_slip() -> None:
    """Two and two records with two birth dates are mostly two children; one record that stands alone is asked about."""
    crowd = {f"x{at}": Person(f"Name{at}", f"Mora{at}", f"2014-{at % 12 + 1:02}-11") for at in range(60)}
    jaco = Person("Jacobo", "Espino", "2016-03-14")
    later = replace(jaco, born="2015-11-27")
    alone = find_pairs({**crowd, "a1": jaco, "a2": jaco, "b1": later})
    twice = find_pairs({**crowd, "a1": jaco, "a2": jaco, "b1": later, "b2": later})
    asked = [max(each.probability for each in pairs if each.verdict == "doubt") for pairs in (alone, twice)]
    assert asked[0] > asked[1]


def test_a_child_added_on_three_tablets_is_one() -> None:
    people = {f"a{at}": ON_THE_DAY for at in range(3)} | {"r1": replace(ANA, student_number="S-1")}
    assert set(verdicts(find_pairs(people)).values()) == {"automatic"}
    assert len(find_pairs(people)) == 6


def test_pairs_decided_to_be_different_never_come_back() -> None:
    people = {"r1": replace(ANA, student_number="S-1"), "a1": ON_THE_DAY}
    assert find_pairs(people, apart=[frozenset(("r1", "a1"))]) == []


def test_a_decision_keeps_a_third_record_from_joining_both() -> None:
    """A person said that r1 and r2 are two children: who is like both may be either, so a person is asked."""
    people = {"r1": ANA, "r2": ANA, "a1": ON_THE_DAY}
    assert set(verdicts(find_pairs(people)).values()) == {"automatic"}
    after = verdicts(find_pairs(people, apart=[frozenset(("r1", "r2"))]))
    assert after == {("a1", "r1"): "doubt", ("a1", "r2"): "doubt"}


@pytest.mark.parametrize(
    "empty", [Person("", ""), Person("Ana", ""), Person("", "García"), Person("", "", "2016-03-14")]
)
def test_records_that_say_almost_nothing_are_not_joined(empty: Person) -> None:
    assert compare(empty, empty).verdict == "different" or not empty.given
    assert "automatic" not in verdicts(find_pairs({"a": empty, "b": empty, "c": ANA})).values()


given_names = st.sampled_from(
    ["Ana", "Anna", "Maria", "Mario", "Bill", "William", "Jaden", "Jayden", "Alex", ""]
)
family_names = st.sampled_from(["García", "García López", "López", "Smith", "Smyth", "O'Neill", ""])
births = st.sampled_from(["2016-03-14", "2016-03-15", "2016-01-01", "2015-04-03", "2015-03-04", "", "bad"])
persons = st.builds(
    Person,
    given_names,
    family_names,
    births,
    student_number=st.sampled_from(["", "", "S-1", "S-2", "S-3"]),
    grade=st.sampled_from(["3", "4", ""]),
    class_name=st.sampled_from(["3A", "3B", ""]),
    added=st.booleans(),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(persons, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_the_records_changes_nothing(people: list[Person], chance: object) -> None:
    named = {f"r{at}": person for at, person in enumerate(people)}
    shuffled = list(named.items())
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert find_pairs(dict(shuffled)) == find_pairs(named)


@settings(max_examples=60, deadline=None)
@given(st.lists(persons, max_size=8), st.sets(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=4))
def test_what_holds_for_any_people(people: list[Person], decided: set[tuple[int, int]]) -> None:
    named = {f"r{at}": person for at, person in enumerate(people)}
    apart = [frozenset((f"r{a}", f"r{b}")) for a, b in decided if a != b]
    pairs = find_pairs(named, apart=apart)
    assert len({(each.a, each.b) for each in pairs}) == len(pairs)
    groups = {one: {one} for one in named}
    for each in pairs:
        assert each.a < each.b and frozenset((each.a, each.b)) not in apart
        assert 0 <= each.probability <= 1 and each.reasons
        first, second = named[each.a], named[each.b]
        if each.verdict == "automatic":
            joined = groups[each.a] | groups[each.b]
            for one in joined:
                groups[one] = joined
            numbers = {first.student_number, second.student_number} - {""}
            assert len(numbers) < 2
    for members in groups.values():  # joining never brings together what a person or the roster told apart
        assert not any(pair <= members for pair in apart)


@given(persons, persons)
def test_comparing_does_not_depend_on_who_comes_first(a: Person, b: Person) -> None:
    one, other = compare(a, b), compare(b, a)
    assert one.weight == pytest.approx(other.weight)
    assert one.verdict == other.verdict


@given(persons, persons)
def test_reasons_tell_no_name_and_no_date(a: Person, b: Person) -> None:
    told = " ".join(compare(a, b).reasons).lower().split()
    for person in (a, b):
        for value in (*person.given.lower().split(), *person.family.lower().split(), person.born):
            assert not value or value not in told


def test_lookalikes_warn_while_a_child_is_added() -> None:
    people = {
        "r1": replace(ANA, student_number="S-1"),
        "r2": Person("Tyler", "Reed", "2015-07-27", "S-2", "4", "4A"),
        "r3": replace(ANA, given="Anna", born="2016-03-15", student_number="S-3"),
    }
    found = lookalikes(replace(ON_THE_DAY, family="Garcia"), people, 5)
    assert [each.b for each in found] == ["r1", "r3"]
    assert "same given name" in found[0].reasons
    assert lookalikes(ON_THE_DAY, people, 1)[0].b == "r1"
    assert lookalikes(Person("", ""), people, 5) == []


def test_forgetting_changes_no_answer() -> None:
    people = {"r1": ANA, "a1": ON_THE_DAY}
    before = find_pairs(people)
    forget()
    assert find_pairs(people) == before


def test_three_in_any_order_of_ids() -> None:
    """Ids decide nothing: renaming the records renames the pairs."""
    people = [
        replace(ANA, student_number="S-1"),
        replace(ANA, given="María", student_number="S-2"),
        ON_THE_DAY,
    ]
    for ids in permutations("xyz"):
        (only,) = find_pairs(dict(zip(ids, people, strict=True)))
        assert {only.a, only.b} == {ids[0], ids[2]} and only.verdict == "automatic"
