"""Every published row that was read in its own source, against what the rules do with a child.

Each row names the source that was read and the figure in it. Rows of rules without a preset (a Texas rule for
licensed staff, Michigan's grades) are checked by writing them down as a protocol: the engine must be able to.
Rows known second-hand or from memory are not here; the presets mark them so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from shared.hearing.due import why_due
from shared.hearing.followup import StageResult, disposition, rescreen_window
from shared.hearing.protocol import Protocol
from shared.hearing.referral import ThresholdOutcome
from shared.hearing.tone_walk import Action, ToneWalk, WalkState

Preset = Callable[[str], Protocol]
DAY = date(2026, 9, 14)


@dataclass(frozen=True)
class Tones:
    """Frequencies and levels of a row that was read; ``level`` None: read for frequencies only."""

    preset: str
    source: str
    frequencies: frozenset[int]
    level: dict[int, int] | None


TONES = [
    Tones(
        "aaa-2011",
        "AAA Childhood Hearing Screening Guidelines, Sept 2011, summary, pure tone screening (guideline page)",
        frozenset({1000, 2000, 4000}),
        {1000: 20, 2000: 20, 4000: 20},
    ),
    Tones(
        "texas-37-24",
        "25 TAC 37.24(c)-(h) (state register's site): pass = response at 25 or less",
        frozenset({1000, 2000, 4000}),
        {1000: 25, 2000: 25, 4000: 25},
    ),
    Tones(
        "washington-246-760",
        "WAC 246-760-020 (legislature's site)",
        frozenset({1000, 2000, 4000}),
        {1000: 20, 2000: 20, 4000: 20},
    ),
    Tones(
        "arizona-r9-13",
        "9 A.A.C. 13, R9-13-103 (law school's site)",
        frozenset({1000, 2000, 4000}),
        {1000: 20, 2000: 20, 4000: 20},
    ),
    Tones("minnesota", "MDH web course: 500 to 4000", frozenset({500, 1000, 2000, 4000}), None),
    Tones(
        "connecticut-10-214",
        "Regs. Conn. State Agencies 10-214-3 (law text site): 20 at 1000 and 2000, 25 at 4000",
        frozenset({1000, 2000, 4000}),
        {1000: 20, 2000: 20, 4000: 25},
    ),
    Tones(
        "pennsylvania-23-5",
        "28 Pa. Code 23.5 (state health department's site), frequencies",
        frozenset({250, 500, 1000, 2000, 4000}),
        None,
    ),
]


@pytest.mark.parametrize("row", TONES, ids=lambda row: row.preset)
def test_frequencies_and_levels(preset: Preset, row: Tones) -> None:
    protocol = preset(row.preset)
    assert set(protocol.frequencies) == row.frequencies
    if row.level is not None:
        assert {hz: protocol.level(hz) for hz in protocol.frequencies} == row.level
        assert protocol.mark_of("levels") == "read"
    assert protocol.mark_of("frequencies") == "read"


# Fail at any one miss, in either ear: AAA 2011; 25 TAC 37.24; WAC 246-760; R9-13-103 (must respond at each, each
# ear); MDH ("any miss, either ear, after immediate rescreen"); Connecticut 10-214-3 ("1+ misses in either ear").
ANY_MISS_FAILS = [
    "aaa-2011",
    "texas-37-24",
    "washington-246-760",
    "arizona-r9-13",
    "minnesota",
    "connecticut-10-214",
]


@pytest.mark.parametrize("name", ANY_MISS_FAILS)
def test_a_single_miss_anywhere_fails(preset: Preset, name: str) -> None:
    protocol = preset(name)
    tones = len(protocol.steps())
    for missed in range(tones):
        letters = "".join("-" if index == missed else "+" for index in range(tones))
        if protocol.retest_same_session:
            letters += "/" + letters
        walk = ToneWalk.replay(protocol, map(Action, letters))
        assert (walk.state, walk.passed) == (WalkState.DONE, False)
        assert walk.missed == (protocol.steps()[missed],)
    assert ToneWalk.replay(protocol, [Action.HEARD] * tones).passed is True


@pytest.mark.parametrize(
    ("name", "retest"),
    [
        ("aaa-2011", True),  # AAA 2011, point: rescreen immediately, same session
        ("minnesota", True),  # MDH web course: one miss, immediate rescreen
    ],
)
def test_same_session_retest_where_it_was_read(preset: Preset, name: str, retest: bool) -> None:
    protocol = preset(name)
    assert protocol.retest_same_session is retest
    assert protocol.mark_of("retest_same_session") == "read"


def test_aaa_gives_a_tone_at_most_four_times(preset: Preset) -> None:
    """AAA 2011, summary: more than once, at most 4 times."""
    assert preset("aaa-2011").presentations == 4


def test_right_ear_first(each_preset: Protocol) -> None:
    """MDH web course: right ear first."""
    assert [ear for ear, _ in each_preset.steps()] == ["right"] * len(each_preset.frequencies) + [
        "left"
    ] * len(each_preset.frequencies)


# (preset, source, first day, last day) of the second screening
WINDOWS = [
    ("texas-37-24", "25 TAC 37.24: not sooner than 3 weeks, not more than 4", 21, 28),
    ("washington-246-760", "WAC 246-760-040: within 6 weeks", None, 42),
    ("minnesota", "MDH follow-up page: 14 to 21 days", 14, 21),
]


@pytest.mark.parametrize(("name", "source", "first", "last"), WINDOWS)
def test_rescreen_windows(preset: Preset, name: str, source: str, first: int | None, last: int) -> None:
    protocol = preset(name)
    window = rescreen_window(protocol, DAY)
    assert window[1] == DAY + timedelta(days=last)
    assert window[0] == DAY + timedelta(days=first) if first is not None else window[0] <= DAY + timedelta(1)
    assert not protocol.rescreen_set_locally
    assert protocol.mark_of("rescreen_days") == "read"


def twice_failed(protocol: Protocol) -> list[StageResult]:
    second = rescreen_window(protocol, DAY)[0]
    return [StageResult(DAY, False), StageResult(second, False)]


@pytest.mark.parametrize(
    ("name", "status"),
    [
        # 25 TAC 37.24: second fail -> extended recheck or referral (the preset takes the recheck)
        ("texas-37-24", "threshold"),
        # WAC 246-760-050: second fail -> parents told that audiology is needed
        ("washington-246-760", "referred"),
        # MDH follow-up page: second fail -> primary care
        ("minnesota", "referred"),
        # Connecticut 10-214-3: suspected impairment -> further evaluation
        ("connecticut-10-214", "referred"),
    ],
)
def test_what_follows_two_fails(preset: Preset, name: str, status: str) -> None:
    protocol = preset(name)
    first = disposition(protocol, [StageResult(DAY, False)])
    assert first.status == "rescreen"
    assert disposition(protocol, twice_failed(protocol)).status == status


# 16 TAC 111.190 (licensed speech and audiology staff; state register's site): 1000, 2000, 4000 Hz; 25 dB HL for
# pre-kindergarten and kindergarten, 20 for grades 1 to 12; any one frequency in either ear fails; within 4 weeks
# again; second fail -> physician or audiologist.
LICENSED = {
    "name": "licensed-staff",
    "title": "Licensed staff",
    "frequencies": [1000, 2000, 4000],
    "levels": [
        {"grades": ["PK", "K"], "by_hz": {"1000": 25, "2000": 25, "4000": 25}},
        {"by_hz": {"1000": 20, "2000": 20, "4000": 20}},
    ],
    "retest_same_session": False,
    "rescreen_days": [1, 28],
    "after_second_fail": "refer",
}


@pytest.mark.parametrize(
    ("grade", "level"), [("PK", 25), ("K", 25), *((str(grade), 20) for grade in range(1, 13))]
)
def test_levels_by_grade(grade: str, level: int) -> None:
    protocol = Protocol.from_dict(LICENSED)
    assert {protocol.level(hz, grade=grade) for hz in protocol.frequencies} == {level}
    assert disposition(protocol, twice_failed(protocol)).status == "referred"
    assert rescreen_window(protocol, DAY)[1] == DAY + timedelta(days=28)


# 77 Ill. Adm. Code 675.130 (legislature's site): lines 30 at 500, 1000, 2000; 40 at 250, 4000, 8000; on or beyond at
# any 2 of 500/1000/2000 in one ear, or any 2 consecutive in one ear of 250-500, 2000-4000, 4000-8000.
FLAT = {250: 20, 500: 20, 1000: 20, 2000: 20, 4000: 20, 8000: 20}
ILLINOIS = [
    ({}, False),
    ({500: 30, 1000: 30}, True),
    ({500: 30, 2000: 30}, True),
    ({1000: 30, 2000: 30}, True),
    ({1000: 25, 2000: 30}, False),
    ({1000: 25, 2000: 25, 500: 25}, False),
    ({1000: 60}, False),
    ({250: 40, 500: 30}, True),
    ({250: 35, 500: 30}, False),
    ({250: 40, 500: 25}, False),
    ({2000: 30, 4000: 40}, True),
    ({2000: 30, 4000: 35}, False),
    ({4000: 40, 8000: 40}, True),
    ({4000: 40, 8000: 35}, False),
    ({250: 40, 4000: 40}, False),
    ({1000: 30, 4000: 40}, False),  # no consecutive pair of the rule
    ({8000: None, 4000: None}, True),  # no response is beyond any line
]


@pytest.mark.parametrize(("raised", "refers"), ILLINOIS)
@pytest.mark.parametrize("ear", ["right", "left"])
def test_illinois_lines(preset: Preset, ear: str, raised: dict[int, int | None], refers: bool) -> None:
    other = "left" if ear == "right" else "right"
    outcome = ThresholdOutcome(DAY + timedelta(days=30), {ear: FLAT | raised, other: FLAT})
    protocol = preset("illinois-675")
    assert protocol.mark_of("referral") == "read"
    stands = disposition(protocol, twice_failed(protocol), [outcome])
    assert stands.status == ("referred" if refers else "passed")


def test_illinois_counts_each_ear_alone(preset: Preset) -> None:
    outcome = ThresholdOutcome(DAY, {"right": FLAT | {500: 30}, "left": FLAT | {1000: 30}})
    assert not preset("illinois-675").referral.met_by(outcome.thresholds)  # type: ignore[union-attr]


# 25 TAC 37.24(h) (state register's site): any frequency above 25 in either ear -> an examination at once.
@pytest.mark.parametrize(
    ("level", "refers"), [(20, False), (25, False), (30, True), (35, True), (40, True), (None, True)]
)
@pytest.mark.parametrize("hz", [1000, 2000, 4000])
def test_texas_extended_recheck_refers(preset: Preset, hz: int, level: int | None, refers: bool) -> None:
    plain = {1000: 20, 2000: 20, 4000: 20}
    outcome = ThresholdOutcome(DAY + timedelta(days=22), {"right": plain, "left": plain | {hz: level}})
    protocol = preset("texas-37-24")
    stands = disposition(protocol, twice_failed(protocol), [outcome])
    assert stands.status == ("referred" if refers else "passed")


# Grades due that were read in the source itself, and a grade that is not.
GRADES = [
    ("washington-246-760", "WAC 246-760-020", {"K", "1", "2", "3", "5", "7"}),
    ("pennsylvania-23-5", "28 Pa. Code 23.5", {"K", "1", "2", "3", "7", "11"}),
    ("illinois-675", "77 Ill. Adm. Code 675.110, a district's copy", {"PK", "K", "1", "2", "3"}),
]


@pytest.mark.parametrize(("name", "source", "due"), GRADES)
def test_grades_due(preset: Preset, name: str, source: str, due: set[str]) -> None:
    protocol = preset(name)
    every = ["PK", "K", *map(str, range(1, 13))]
    assert {grade for grade in every if why_due(protocol, grade)} == due


def test_michigan_grades_can_be_written_down(preset: Preset) -> None:
    """Michigan (a state page of asha.org, read): kindergarten, 2 and 4; once at 3 to 5 in preschool."""
    michigan = preset("aaa-2011").copied("michigan", grades_due=["PK", "K", "2", "4"])
    assert [grade for grade in ("PK", "K", "1", "2", "3", "4") if why_due(michigan, grade)] == [
        "PK",
        "K",
        "2",
        "4",
    ]
