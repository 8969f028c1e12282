"""An examiner's audiogram read from data: every field checked, refusals name the field, nothing changed on the way.

Outside: ASHA Guidelines for Manual Pure-Tone Threshold Audiometry (2005), air 250 to 8000 Hz, bone octaves 250 to 4000
and 3000 Hz (read); the range -10 to 120 dB HL is that of the clinical audiogram form (read).
"""

from __future__ import annotations

import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.examination import CONDUCTIONS, FREQUENCIES, Examination, Reading, ordered
from shared.hearing.fields import EARS, FieldRefused

REPLY = {
    "examined": "2026-11-30",
    "examiner": "County hearing clinic",
    "earphones": "insert",
    "right": {
        "air": {
            "500": 25,
            "1000": {"level_db_hl": 30, "masked": True},
            "4000": {"no_response_at_db_hl": 100},
        },
        "bone": {"1000": {"no_response_at_db_hl": 70, "masked": True}},
    },
    "left": {"air": {"1000": -10, "8000": 120}},
    "note": "wears glasses; came with an aunt",
}


def test_a_reply_is_read_whole_and_comes_back_equal() -> None:
    found = Examination.from_dict(REPLY)
    assert found.examined == date(2026, 11, 30)
    assert found.readings == (
        Reading("right", "air", 500, 25),
        Reading("right", "air", 1000, 30, masked=True),
        Reading("right", "air", 4000, 100, no_response=True),
        Reading("right", "bone", 1000, 70, masked=True, no_response=True),
        Reading("left", "air", 1000, -10),
        Reading("left", "air", 8000, 120),
    )
    assert found.readings[2].threshold is None
    assert found.to_dict() == REPLY
    assert [each.hz for each in found.of("left")] == [1000, 8000]


@st.composite
def readings(draw: st.DrawFn) -> tuple[Reading, ...]:
    spots = [(ear, way, hz) for ear in EARS for way in CONDUCTIONS for hz in FREQUENCIES[way]]
    chosen = draw(st.lists(st.sampled_from(spots), unique=True, min_size=1))
    levels = st.integers(-2, 24).map(lambda step: step * 5)
    return ordered(Reading(*spot, draw(levels), draw(st.booleans()), draw(st.booleans())) for spot in chosen)


@given(readings(), st.dates(), st.sampled_from(["", "supra-aural", "insert"]))
def test_whatever_is_typed_survives_json(found: tuple[Reading, ...], day: date, earphones: str) -> None:
    examination = Examination(day, found, "someone", earphones, "a note")
    assert Examination.from_dict(json.loads(json.dumps(examination.to_dict()))) == examination


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"examined": None}, "examined"),
        ({"examined": "yesterday"}, "examined"),
        ({"examiner": 7}, "examiner"),
        ({"earphones": "headband"}, "earphones"),
        ({"hearing": "x"}, "hearing"),
        ({"note": ["x"]}, "note"),
        ({"right": None, "left": None}, "right"),
        ({"right": {}, "left": {}}, "right"),
        ({"right": []}, "right"),
        ({"right": {"sound": {}}}, "right.sound"),
        ({"right": {"air": [30]}}, "right.air"),
        ({"right": {"air": {"125": 30}}}, "right.air"),
        ({"right": {"air": {"0500": 30}}}, "right.air"),
        ({"left": {"bone": {"6000": 30}}}, "left.bone"),
        ({"left": {"air": {"1000": 33}}}, "left.air.1000.level_db_hl"),
        ({"left": {"air": {"1000": -15}}}, "left.air.1000.level_db_hl"),
        ({"left": {"air": {"1000": 125}}}, "left.air.1000.level_db_hl"),
        ({"left": {"air": {"1000": True}}}, "left.air.1000.level_db_hl"),
        ({"left": {"air": {"1000": "30"}}}, "left.air.1000.level_db_hl"),
        ({"left": {"air": {"1000": {}}}}, "left.air.1000.level_db_hl"),
        ({"left": {"air": {"1000": {"no_response_at_db_hl": 98}}}}, "left.air.1000.no_response_at_db_hl"),
        (
            {"left": {"air": {"1000": {"level_db_hl": 5, "no_response_at_db_hl": 100}}}},
            "left.air.1000.level_db_hl",
        ),
        ({"left": {"air": {"1000": {"level_db_hl": 5, "masked": 1}}}}, "left.air.1000.masked"),
        ({"left": {"air": {"1000": {"level_db_hl": 5, "loud": True}}}}, "left.air.1000.loud"),
    ],
)
def test_a_bad_value_is_refused_naming_the_field(change: dict[str, object], field: str) -> None:
    with pytest.raises(FieldRefused) as refused:
        Examination.from_dict({**REPLY, **change})
    assert refused.value.field == field
    assert f"'{field}'" in str(refused.value)
    assert refused.value.todo


@pytest.mark.parametrize("data", [None, [], "x", 3])
def test_something_that_is_no_table_is_refused(data: object) -> None:
    with pytest.raises(FieldRefused):
        Examination.from_dict(data)
