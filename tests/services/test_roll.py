"""Looking children up: a child of several joined records is found under the name that each of them has."""

from __future__ import annotations

import pytest

from fieldapp.services.roll import found_as, letters_after, rows_of
from shared.records.standing import Person, Standing, Status

TOBIAS = Standing(
    child="1@book",
    records=("1@book", "4@tablet"),
    person=Person("Tobias", "Wetherell", "2017-11-02"),
    status=Status.NOT_SEEN,
    also=(("Toby", "Whetherall"),),
)
AMARA = Standing(
    child="2@book", records=("2@book",), person=Person("Amara", "Velloso"), status=Status.NOT_SEEN
)
BOTH = [AMARA, TOBIAS]


@pytest.mark.parametrize(
    ("typed", "other"),
    [
        ("we", None),
        ("wetherell tob", None),
        ("wh", ("Toby", "Whetherall")),
        ("toby", ("Toby", "Whetherall")),
        ("toby whether", ("Toby", "Whetherall")),
        ("tob", None),  # fits both: the name that is shown is enough
    ],
)
def test_a_child_is_found_under_each_of_its_records_names(typed, other):
    assert rows_of(BOTH, None, typed) == [TOBIAS]
    assert found_as(TOBIAS, typed) == other


def test_words_of_two_records_do_not_make_one_name():
    assert rows_of(BOTH, None, "toby wetherell") == []


def test_the_letters_that_go_on_are_those_of_every_name():
    assert letters_after(BOTH, "w") == ["E", "H"]
    assert letters_after(BOTH, "tob") == ["I", "Y"]
    assert "V" in letters_after(BOTH, "") and "A" in letters_after(BOTH, "")
