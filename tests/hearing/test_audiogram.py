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
    HANDOVER,
    PTA3,
    PTA4_AAO_HNS,
    PTA4_WHO,
    WHO_2021,
    air_bone_gaps,
    average,
    degree_clark,
    degree_who,
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

EAR = {500: 10, 1000: 20, 2000: 30, 3000: 40, 4000: 60}


@pytest.mark.parametrize(("frequencies", "mean"), [(PTA3, 20.0), (PTA4_WHO, 30.0), (PTA4_AAO_HNS, 25.0)])
def test_averages_are_of_their_own_frequencies(frequencies: tuple[int, ...], mean: float) -> None:
    assert average(EAR, frequencies).db_hl == mean


@pytest.mark.parametrize("hz", PTA4_WHO)
def test_no_response_is_never_averaged(hz: int) -> None:
    mean = average(EAR | {hz: None}, PTA4_WHO)
    assert mean.db_hl is None
    assert mean.words() == f"no response at {hz} Hz, so no average"


def test_a_missing_tone_gives_no_average() -> None:
    assert average({1000: 20, 2000: 20}).words() == "not tested at 500 Hz"


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


def test_clark_names_its_source_and_says_why_there_is_none() -> None:
    assert degree_clark(EAR).word == "slight"
    assert degree_clark(EAR).scale.name == "Clark 1981"
    silent = degree_clark(EAR | {500: None})
    assert (silent.word, silent.why) == ("", "no response at 500 Hz, so no average")


def test_every_degree_row_carries_its_mark() -> None:
    for scale in (CLARK_1981, WHO_2021):
        assert {band.mark for band in scale.bands} <= {"read", "second-hand", "from memory"}


def test_the_handover_does_not_diagnose() -> None:
    assert "not a diagnosis" in HANDOVER
    for word in ("conductive", "sensorineural", "mixed", "wax", "infection"):
        assert word not in HANDOVER.lower()


def test_air_bone_gaps_are_plain_subtraction() -> None:
    air = {500: 40, 1000: 35, 2000: None, 4000: 20}
    bone = {500: 5, 1000: 40, 2000: 20, 8000: 0}
    assert air_bone_gaps(air, bone) == {500: 35, 1000: -5, 2000: None}


@pytest.mark.parametrize(
    ("right", "left", "earphones", "flagged"),
    [
        (10, 45, "supra-aural", {}),
        (10, 50, "supra-aural", {1000: "left"}),
        (50, 10, "supra-aural", {1000: "right"}),
        (10, 50, "insert", {}),
        (10, 60, "insert", {1000: "left"}),
        (10, None, "supra-aural", {}),
    ],
)
def test_a_tone_that_may_be_heard_across(
    right: int, left: int | None, earphones: str, flagged: dict[int, str]
) -> None:
    """Least interaural attenuation 40 dB supra-aural, 50 insert: a teaching page, second-hand."""
    assert may_be_cross_heard({"right": {1000: right}, "left": {1000: left}}, earphones) == flagged


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
    found = marks(chart, "right", {1000: 20, 500: 10, 2000: None, 4000: 40, 8000: 50}, {2000: 100})
    assert [(mark.hz, mark.level_db_hl, mark.no_response) for mark in found] == [
        (500, 10, False),
        (1000, 20, False),
        (2000, 100, True),
        (4000, 40, False),
        (8000, 50, False),
    ]
    assert found[2].at == chart.place(2000, 100)
    assert joined(found) == ((found[0].at, found[1].at), (found[3].at, found[4].at))
    assert joined(found[1:3]) == ()
