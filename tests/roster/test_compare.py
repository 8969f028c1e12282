"""A second import against the first: the cases by hand, and the laws with a plain model of a visit book."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from fieldapp.roster import RosterChange, RosterRow, compare_rosters
from shared.records.people import person_body, person_fields
from shared.records.standing import Person

ANN = Person("Ann", "Brook", "2017-05-23", "1", "2", "2A")
BOB = Person("Bob", "Hill", "2016-01-02", "2", "3", "3A")
CY = Person("Cy", "Field", "2016-03-04", "", "3", "3A")


def rows(*persons: Person) -> list[RosterRow]:
    return [RosterRow(line, person) for line, person in enumerate(persons, start=2)]


def test_new_corrected_left_and_unchanged() -> None:
    change = compare_rosters(
        {"a": ANN, "b": BOB, "c": CY},
        rows(replace(ANN, class_name="2B"), CY, replace(BOB, student_number="9", given="Al")),
    )
    assert change.corrected == {"a": {"class": "2B"}}
    assert [row.line for row in change.added] == [4]
    assert change.left == ["b"]
    assert change.unchanged == ["c"]


def test_an_empty_cell_corrects_nothing() -> None:
    change = compare_rosters({"a": ANN}, rows(Person("Ann", "Brook", student_number="1")))
    assert (change.corrected, change.unchanged) == ({}, ["a"])


def test_a_leaver_comes_back() -> None:
    change = compare_rosters({"a": replace(ANN, left=True)}, rows(ANN))
    assert (change.returned, change.corrected, change.added) == (["a"], {"a": {}}, [])


def test_a_leaver_who_stays_away_is_not_marked_again() -> None:
    assert compare_rosters({"a": replace(ANN, left=True)}, []).left == []


def test_a_child_added_on_the_day_gets_its_number_and_never_leaves() -> None:
    walk_in = Person("Di", "Moor", "2017-07-07", added=True)
    assert compare_rosters({"w": walk_in}, rows(replace(walk_in, student_number="7"))).corrected == {
        "w": {"student_number": "7"}
    }
    assert compare_rosters({"w": walk_in}, []).unchanged == ["w"]


def test_a_number_that_now_belongs_to_another_child() -> None:
    change = compare_rosters({"a": ANN}, rows(replace(BOB, student_number="1")))
    assert (change.added, change.corrected, change.left, change.unchanged) == ([], {}, [], ["a"])
    assert change.problems[0].line == 2
    assert "belongs to another child" in change.problems[0].reason


def test_a_changed_family_name_or_birth_date_is_a_correction() -> None:
    change = compare_rosters({"a": ANN}, rows(replace(ANN, family="Moor", born="2017-05-24")))
    assert change.corrected == {"a": {"family": "Moor", "born": "2017-05-24"}}


def test_twins_without_numbers_stay_two() -> None:
    twins = {"x": replace(CY, given="Cy"), "y": replace(CY, given="Di")}
    change = compare_rosters(twins, rows(twins["y"], twins["x"]))
    assert (change.unchanged, change.added, change.left) == (["x", "y"], [], [])


def test_a_row_without_number_does_not_take_the_record_of_one_with() -> None:
    change = compare_rosters({"a": ANN}, rows(replace(ANN, student_number=""), ANN))
    assert [row.line for row in change.added] == [2]
    assert change.unchanged == ["a"]


def test_one_number_on_two_devices_is_one_child() -> None:
    change = compare_rosters({"a": ANN, "b": replace(ANN, added=True)}, rows(ANN))
    assert (change.unchanged, change.left, change.added) == (["a", "b"], [], [])


PERSON = st.builds(
    Person,
    given=st.sampled_from(["Ann", "Bob", "Cy"]),
    family=st.sampled_from(["Brook", "Hill"]),
    born=st.sampled_from(["", "2017-05-23", "2016-01-02"]),
    student_number=st.sampled_from(["", "", "1", "2", "3", "4"]),
    class_name=st.sampled_from(["", "2A", "2B"]),
)


def unique(persons: list[Person]) -> list[Person]:
    """As ``read_roster`` gives them: no number twice, no row without number twice."""
    kept: dict[object, Person] = {}
    for person in persons:
        kept.setdefault(person.student_number or person, person)
    return list(kept.values())


ROSTER = st.lists(PERSON, max_size=8).map(unique).map(lambda persons: rows(*persons))


def applied(book: dict[str, Person], change: RosterChange) -> dict[str, Person]:
    """What the entries of a change make of a book, by the plainest reading of the entries' meaning."""
    after = dict(book)
    for record, fields in change.corrected.items():
        after[record] = replace(after[record], left=False, **person_fields(fields))
    for record in change.left:
        after[record] = replace(after[record], left=True)
    for row in change.added:
        after[f"r{len(after)}"] = row.person
    return after


@given(st.lists(ROSTER, min_size=1, max_size=5))
def test_any_sequence_of_rosters(rosters: list[list[RosterRow]]) -> None:
    book: dict[str, Person] = {}
    for roster in rosters:
        change = compare_rosters(book, roster)
        parts = [*change.corrected, *change.left, *change.unchanged]
        assert sorted(parts) == sorted(book), "every record is in exactly one part"
        taken = {row.line for row in roster} - {problem.line for problem in change.problems}
        book = applied(book, change)
        numbers = [person.student_number for person in book.values() if person.student_number]
        assert len(numbers) == len(set(numbers)), "no number is ever listed twice"
        present = [person for person in book.values() if not person.left]
        # A number that now belongs to another child keeps its record, which may have left before.
        assert 0 <= len(present) - len(taken) <= len(change.problems), "one child at school for each row"
        for row in roster:
            if row.line in taken:
                wanted = person_body(row.person)
                assert any(wanted.items() <= person_body(person).items() for person in present)


@given(ROSTER, ROSTER)
def test_the_same_roster_again_changes_nothing(first: list[RosterRow], second: list[RosterRow]) -> None:
    book = applied({}, compare_rosters({}, first))
    book = applied(book, compare_rosters(book, second))
    again = compare_rosters(book, second)
    assert (again.added, again.corrected, again.left, again.returned) == ([], {}, [], [])
