"""Slips of the pen and of the finger: what turns a known name into none, and what may be two names."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.matching.given_names import BORNE
from sync.matching.nicknames import borne
from sync.matching.slips import pen_slip, unlike_a_name

# Keys that touch on the keyboards of the United States and of Spain (public standard layouts, from memory).
TOUCHING = [
    *("qw", "we", "er", "rt", "ty", "yu", "ui", "io", "op", "as", "sd", "df", "fg", "gh", "hj", "jk", "kl"),
    *("zx", "xc", "cv", "vb", "bn", "nm", "qa", "az", "sz", "dx", "fc", "gv", "hb", "jn", "km"),
]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("anitz", "anita"), ("zafa", "zara"), ("lilu", "lily"), ("joshus", "joshua"),  # a key beside the right one
        ("joshuaz", "joshua"), ("katez", "kate"), ("luas", "lucas"), ("jaes", "james"),  # letters seldom together
        ("bfody", "brody"), ("lachln", "lachlan"),  # letters never together
        ("jenifer", "jennifer"), ("joshau", "joshua"),
    ],
)  # fmt: skip
def test_slips(written: str, meant: str) -> None:
    assert pen_slip(written, meant)
    assert pen_slip(meant, written)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("zaydon", "jaydon"), ("zayden", "zaydon"), ("rania", "tania"), ("emily", "emil"), ("mario", "maria"),
        ("sophi", "sophie"), ("rile", "riley"), ("mirta", "marta"), ("albino", "albano"), ("al", "ai"),
        ("маша", "даша"), ("kaden", "kaiden"), ("jose", "josep"),
    ],
)  # fmt: skip
def test_names_that_twins_may_bear_are_no_slips(one: str, other: str) -> None:
    assert not pen_slip(one, other)
    assert not pen_slip(other, one)


@given(st.sampled_from(BORNE.split()), st.integers(1, 11), st.sampled_from(TOUCHING))
def test_a_key_beside_the_right_one_is_a_slip_unless_it_makes_a_name(name: str, at: int, keys: str) -> None:
    if len(name) > 3 and at < len(name) and name[at] in keys:
        written = name[:at] + keys.replace(name[at], "") + name[at + 1 :]
        assert pen_slip(written, name) != borne(written)


def test_two_known_names_are_never_a_slip_but_for_a_doubled_letter() -> None:
    names = [each for each in BORNE.split() if each.startswith(("ja", "ka", "mar"))]
    passing = [pair for pair in combinations(names, 2) if pen_slip(*pair)]
    assert all(len(set(one)) == len(set(other)) and len(one) != len(other) for one, other in passing)
    assert not any(unlike_a_name(each) for each in names)
