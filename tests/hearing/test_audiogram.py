"""Averages, degrees, gaps and the chart.

Outside: Clark 1981 (rows from 41 second-hand, lower rows from memory); WHO World report on hearing 2021, Table 1.3
(second-hand from a reprint; 95 and unilateral from memory); ASHA Guidelines for Audiometric Symbols 1990 (20 dB as long
as one octave: read; the symbols second-hand; arrows, lines and colours from memory).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.audiogram import (
    CLARK_1981,
    PTA3,
    PTA4_WHO,
    WHO_2021,
    EarFound,
    air_bone_gaps,
    average,
    bone_may_be_the_others,
    degree_clark,
    degree_who,
    figures,
    may_be_cross_heard,
)
from shared.hearing.audiogram_chart import (
    LINE,
    SYMBOLS,
    Chart,
    joined,
    marks,
    no_response_arrow,
    symbol,
)
from shared.hearing.examination import Reading

EAR = {500: 10, 1000: 20, 2000: 30, 3000: 40, 4000: 60}


@pytest.mark.parametrize(("frequencies", "mean"), [(PTA3, 20.0), (PTA4_WHO, 30.0)])
def test_averages_are_of_their_own_frequencies(frequencies: tuple[int, ...], mean: float) -> None:
    assert average(EAR, frequencies).db_hl == mean


@pytest.mark.parametrize("hz", PTA4_WHO)
def test_no_response_is_never_averaged(hz: int) -> None:
    mean = average(EAR | {hz: None}, PTA4_WHO)
    assert mean.db_hl is None
    assert (mean.not_tested, mean.no_response) == ((), (hz,))


def test_a_missing_tone_gives_no_average() -> None:
    mean = average({1000: 20, 2000: 20})
    assert (mean.db_hl, mean.not_tested, mean.no_response) == (None, (500,), ())


CLARK = [
    (-10, "normal"), (15, "normal"), (15.49, "normal"), (15.5, "slight"), (16, "slight"), (25, "slight"),
    (26, "mild"), (40, "mild"), (41, "moderate"), (55, "moderate"), (56, "moderately severe"),
    (70, "moderately severe"), (71, "severe"), (90, "severe"), (91, "profound"), (120, "profound"),
]  # fmt: skip
WHO = [
    (-10, "normal"), (19.9, "normal"), (20, "mild"), (34.9, "mild"), (35, "moderate"), (49.9, "moderate"),
    (50, "moderately severe"), (64.9, "moderately severe"), (65, "severe"), (79.9, "severe"), (80, "profound"),
    (94.9, "profound"), (95, "complete"), (120, "complete"),
]  # fmt: skip


@pytest.mark.parametrize(("level", "name"), CLARK)
def test_degrees_of_clark_1981(level: float, name: str) -> None:
    assert CLARK_1981.degree(level).name == name


@pytest.mark.parametrize(("level", "name"), WHO)
def test_degrees_of_who_2021(level: float, name: str) -> None:
    assert WHO_2021.degree(level).name == name


@given(st.floats(-10, 120), st.floats(-10, 120))
def test_a_higher_average_is_never_a_lesser_degree(one: float, other: float) -> None:
    for scale in (CLARK_1981, WHO_2021):
        low, high = (scale.bands.index(scale.degree(level)) for level in sorted((one, other)))
        assert low <= high


def flat(level: int | None) -> dict[int, int | None]:
    return dict.fromkeys(PTA4_WHO, level)


@pytest.mark.parametrize(
    ("right", "left", "word"),
    [
        (10, 10, "normal"),
        (15, 35, "unilateral"),
        (35, 15, "unilateral"),
        (15, 30, "normal"),
        (20, 60, "mild"),
        (50, 35, "moderate"),
        (95, 100, "complete"),
        (None, 10, ""),
    ],
)
def test_who_takes_the_better_ear(right: int | None, left: int | None, word: str) -> None:
    read = degree_who(flat(right), flat(left))
    assert read.word == word
    assert read.scale is WHO_2021
    assert read.scale.source


def test_clark_names_its_source_and_gives_no_word_without_an_average() -> None:
    read = degree_clark(EAR)
    assert (read.word, read.level, read.scale.name) == ("slight", 20.0, "Clark 1981")
    silent = degree_clark(EAR | {500: None})
    assert (silent.word, silent.level) == ("", None)


def test_every_degree_row_carries_its_mark() -> None:
    for scale in (CLARK_1981, WHO_2021):
        assert {band.mark for band in scale.bands} <= {"read", "second-hand", "from memory"}


def test_air_bone_gaps_are_plain_subtraction_told_from_fifteen_on() -> None:
    """15 dB: a teaching convention, from memory."""
    air = {250: 25, 500: 40, 1000: 35, 2000: None, 3000: 30, 4000: 20}
    bone = {250: 10, 500: 5, 1000: 40, 2000: 20, 3000: 20, 8000: 0}
    assert air_bone_gaps(air, bone) == {250: 15, 500: 35}


@pytest.mark.parametrize(
    ("right", "left", "earphones", "flagged"),
    [
        (10, 45, "supra-aural", {}),
        (10, 50, "supra-aural", {"left": (1000,)}),
        (50, 10, "supra-aural", {"right": (1000,)}),
        (50, 10, "", {"right": (1000,)}),
        (10, 50, "insert", {}),
        (10, 60, "insert", {"left": (1000,)}),
        (10, None, "supra-aural", {}),
    ],
)
def test_a_tone_that_may_be_heard_across(
    right: int, left: int | None, earphones: str, flagged: dict[str, tuple[int, ...]]
) -> None:
    """Least interaural attenuation 40 dB supra-aural, 50 insert: a teaching page, second-hand."""
    ears = {"right": EarFound({1000: right}), "left": EarFound({1000: left})}
    found = {
        "right": may_be_cross_heard(ears["right"], ears["left"], earphones),
        "left": may_be_cross_heard(ears["left"], ears["right"], earphones),
    }
    assert {ear: tones for ear, tones in found.items() if tones} == flagged


def test_a_masked_threshold_is_not_doubted_and_bone_tells_of_the_other_ear_where_it_is_known() -> None:
    """AC(test) - BC(non-test) against the least attenuation; without bone the air of the other ear stands in."""
    poor, other = EarFound({1000: 60}), EarFound({1000: 50}, {1000: 20})
    assert may_be_cross_heard(poor, other) == (1000,)
    assert may_be_cross_heard(poor, EarFound({1000: 50})) == ()
    assert may_be_cross_heard(EarFound({1000: 60}, masked_air=frozenset({1000})), other) == ()


def test_unmasked_bone_much_better_than_air_may_be_the_other_ears() -> None:
    """Better by more than 10 dB (from memory)."""
    assert bone_may_be_the_others(EarFound({500: 30, 1000: 30}, {500: 20, 1000: 15})) == (1000,)
    masked = EarFound({1000: 30}, {1000: 15}, masked_bone=frozenset({1000}))
    assert bone_may_be_the_others(masked) == ()


def test_all_figures_of_an_audiogram_together() -> None:
    """Worked by hand: right mean of three 50, of four 50; left 10 and 10."""
    readings = [Reading("right", "air", hz, 50, masked=True) for hz in PTA4_WHO]
    readings += [Reading("right", "bone", 1000, 10, masked=True), Reading("right", "bone", 2000, 15)]
    readings += [Reading("left", "air", hz, 10) for hz in PTA4_WHO]
    worked = figures(readings, "insert")
    right, left = worked.ears["right"], worked.ears["left"]
    assert (right.three.db_hl, right.four.db_hl, right.clark.word) == (50, 50, "moderate")
    assert (right.gaps, right.air_crossed, right.bone_crossed) == ({1000: 40, 2000: 35}, (), (2000,))
    assert (left.clark.word, left.gaps, worked.who.word) == ("normal", {}, "unilateral")


# -- the chart ---------------------------------------------------------------------------------------


def test_twenty_decibels_are_as_long_as_one_octave() -> None:
    chart = Chart()
    for hz in (125, 250, 500, 1000, 2000, 4000):
        assert chart.x(2 * hz) - chart.x(hz) == pytest.approx(1)
    for level in range(-10, 101, 10):
        assert chart.y(level + 20) - chart.y(level) == pytest.approx(1)
    assert (chart.width, chart.height) == (pytest.approx(6), pytest.approx(6.5))
    assert chart.x(750) == pytest.approx((chart.x(500) + chart.x(1000)) / 2, abs=0.09)


@pytest.mark.parametrize(
    ("ear", "conduction", "masked", "name", "colour"),
    [
        ("right", "air", False, "O", "red"),
        ("left", "air", False, "X", "blue"),
        ("right", "air", True, "triangle", "red"),
        ("left", "air", True, "square", "blue"),
        ("right", "bone", False, "<", "red"),
        ("left", "bone", False, ">", "blue"),
        ("right", "bone", True, "[", "red"),
        ("left", "bone", True, "]", "blue"),
    ],
)
def test_published_symbols(ear: str, conduction: str, masked: bool, name: str, colour: str) -> None:
    found = symbol(ear, conduction, masked=masked)
    assert (found.name, found.colour) == (name, colour)
    assert all(-0.5 <= x <= 0.5 and -0.5 <= y <= 0.5 for stroke in found.strokes for x, y in stroke)


def test_no_two_symbols_look_the_same_without_colour() -> None:
    assert len({shape.strokes for shape in SYMBOLS}) == len(SYMBOLS)
    assert LINE["right"] != LINE["left"]


@pytest.mark.parametrize(("ear", "direction"), [("right", -1), ("left", 1)])
def test_no_response_arrows_point_down_and_outwards(ear: str, direction: int) -> None:
    shaft = no_response_arrow(ear)[0]
    (x0, y0), (x1, y1) = shaft
    assert (x1 - x0) * direction > 0
    assert y1 > y0


def test_no_response_sits_at_the_limit_and_breaks_the_line() -> None:
    chart = Chart()
    levels = {1000: 20, 500: 10, 2000: 100, 4000: 40, 8000: 50}
    found = marks(
        chart, [Reading("right", "air", hz, level, False, hz == 2000) for hz, level in levels.items()]
    )
    assert [(mark.hz, mark.level_db_hl, mark.no_response) for mark in found] == [
        (500, 10, False),
        (1000, 20, False),
        (2000, 100, True),
        (4000, 40, False),
        (8000, 50, False),
    ]
    assert found[2].at == chart.place(2000, 100)
    assert len(found[2].strokes) == len(found[1].strokes) + 2
    assert joined(found) == ((found[0].at, found[1].at), (found[3].at, found[4].at))
    assert joined(found[1:3]) == ()


@pytest.mark.parametrize(("ear", "side"), [("right", -1), ("left", 1)])
def test_bone_symbols_lie_beside_the_line_and_air_symbols_on_it(ear: str, side: int) -> None:
    air, bone = marks(Chart(), [Reading(ear, "air", 1000, 20), Reading(ear, "bone", 1000, 20)])
    assert air.aside == 0
    assert bone.aside * side > 0.5
    assert (bone.at, bone.symbol) == (air.at, symbol(ear, "bone"))
