"""The readiness check step by step, its edges, and when it runs out.

Outside: yearly calibration, earphones matched to one audiometer, one ear through both earphones within 5 dB
(Minnesota Department of Health pages, read). The listening check at 50 dB HL is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from shared.hearing.fields import FieldRefused
from shared.hearing.protocol import Protocol
from shared.hearing.readiness import (
    LISTENING_LEVEL,
    REMINDERS,
    STEPS,
    Pairing,
    ReadinessFacts,
    ReadinessResult,
    StepState,
    calibration_ends,
    check,
    listening_tones,
)
from shared.hearing.readiness_repeat import FACTS_OF, asked_steps, without
from shared.hearing.readiness_validity import StationFor, why_expired
from shared.hearing.station_watch import Suspect
from tests.facts import READY

Preset = Callable[[str], Protocol]
TODAY = date(2026, 9, 14)


def checked(protocol: Protocol, today: date = TODAY, **facts: Any) -> ReadinessResult:
    pairs = facts.pop("pairs", ())
    return check(ReadinessFacts.from_dict(READY | facts), protocol, today, pairs=pairs)


def step_of(result: ReadinessResult, key: str) -> StepState:
    return next(report.state for report in result.steps if report.key == key)


def test_the_script_line_passes_at_20(preset: Preset) -> None:
    result = checked(preset("aaa-2011"))
    assert (result.passed, result.level_db_hl, result.reasons) == (True, 20, ())
    assert result.next_step == ""


def test_a_check_with_everything_has_nothing_to_warn_of(preset: Preset) -> None:
    result = checked(
        preset("aaa-2011"),
        inspection={"cords": True, "cushions": True},
        tone_normally_off=True,
        same_ear={"right": {"1000": 5}, "left": {"1000": 10}},
        noise={"1000": 40, "2000": 40, "4000": 40},
        room="library",
        listener="known-normal listener",
    )
    assert result.passed and result.warnings == ()
    assert all(report.state is StepState.DONE for report in result.steps)


def test_the_steps_are_data_in_the_order_of_the_work() -> None:
    assert [step.key for step in STEPS] == [
        "equipment",
        "calibration",
        "inspection",
        "tone-off",
        "listening",
        "same-ear",
        "level",
        "noise",
    ]
    assert all(step.title and step.instruction and step.source for step in STEPS)
    assert all(reminder.words and reminder.source for reminder in REMINDERS)


def test_an_empty_check_names_everything_that_is_open(preset: Preset) -> None:
    result = check(ReadinessFacts(), preset("aaa-2011"), TODAY)
    assert not result.passed and result.level_db_hl is None
    assert result.next_step == "equipment"
    assert {report.key for report in result.steps if report.state is StepState.OPEN} == {
        step.key for step in STEPS if step.needed
    }


def test_the_next_step_follows_what_is_done(preset: Preset) -> None:
    done: dict[str, Any] = {}
    for fields, following in (
        ({"audiometer": "AM-04", "earphones": "EP-04"}, "calibration"),
        ({"calibrated": "2026-08-20"}, "listening"),
        ({"listening": READY["listening"]}, "level"),
        ({"own_thresholds": READY["own_thresholds"]}, ""),
    ):
        done |= fields
        assert check(ReadinessFacts.from_dict(done), preset("aaa-2011"), TODAY).next_step == following


@pytest.mark.parametrize(
    ("today", "passed", "warned"),
    [
        (date(2026, 8, 19), False, False),  # before it was calibrated
        (date(2026, 8, 20), True, False),
        (date(2027, 7, 20), True, False),
        (date(2027, 7, 21), True, True),  # the last month begins
        (date(2027, 8, 20), True, True),  # the last day
        (date(2027, 8, 21), False, False),
    ],
)
def test_calibration_holds_a_year_and_warns_in_its_last_month(
    preset: Preset, today: date, passed: bool, warned: bool
) -> None:
    result = checked(preset("aaa-2011"), today)
    assert result.passed is passed
    assert any("calibration" in warning for warning in result.warnings) is warned


def test_a_calibration_of_the_leap_day_ends_on_28_february() -> None:
    assert calibration_ends(date(2028, 2, 29)) == date(2029, 2, 28)


SWAPS = [
    # known pairs, audiometer, earphones, calibrated, passes
    ([("AM-04", "EP-04")], "AM-04", "EP-04", "2026-08-20", True),
    ([("AM-04", "EP-04")], "am-04", " ep-04 ", "2026-08-20", True),
    ([("AM-04", "EP-04")], "AM-04", "EP-07", "2026-08-20", False),
    ([("AM-04", "EP-04")], "AM-02", "EP-04", "2026-08-20", False),
    ([("AM-04", "EP-04")], "AM-02", "EP-02", "2026-08-20", True),
    ([("AM-04", "EP-04"), ("AM-02", "EP-02")], "AM-04", "EP-02", "2026-08-20", False),
    # calibrated together since: a new pair
    ([("AM-04", "EP-04")], "AM-04", "EP-07", "2026-08-21", True),
]


@pytest.mark.parametrize(("known", "audiometer", "earphones", "calibrated", "passes"), SWAPS)
def test_swapped_earphones_are_refused_with_the_reason(
    preset: Preset,
    known: list[tuple[str, str]],
    audiometer: str,
    earphones: str,
    calibrated: str,
    passes: bool,
) -> None:
    pairs = [Pairing(one, other, date(2026, 8, 20)) for one, other in known]
    result = checked(
        preset("aaa-2011"),
        audiometer=audiometer,
        earphones=earphones,
        calibrated=calibrated,
        pairs=pairs,
    )
    assert result.passed is passes
    if not passes:
        assert "calibrated together with one audiometer" in result.reasons[0]


def test_the_old_pair_is_refused_after_a_recalibration_with_others(preset: Preset) -> None:
    pairs = [
        Pairing("AM-04", "EP-04", date(2025, 9, 1)),
        Pairing("AM-04", "EP-07", date(2026, 8, 20)),
    ]
    assert not checked(preset("aaa-2011"), earphones="EP-04", pairs=pairs).passed
    assert checked(preset("aaa-2011"), earphones="EP-07", pairs=pairs).passed


def test_the_listening_check_walks_every_tone_through_both_earphones(preset: Preset) -> None:
    tones = listening_tones(preset("minnesota"))
    assert tones == tuple(
        (ear, hz, LISTENING_LEVEL) for ear in ("right", "left") for hz in (1000, 2000, 4000, 500)
    )
    assert LISTENING_LEVEL == 50
    unheard = {"right": [1000, 2000, 4000], "left": [1000, 2000]}
    result = checked(preset("aaa-2011"), listening=unheard)
    assert result.reasons == ("The listening check is incomplete: left earphone, 4000 Hz.",)
    assert not checked(preset("minnesota")).passed, "500 Hz is a test frequency there"


@pytest.mark.parametrize(
    ("inspection", "state"),
    [
        ({}, StepState.SKIPPED),
        ({"cords": True}, StepState.OPEN),
        ({"cords": True, "cushions": True}, StepState.DONE),
        ({"cords": True, "cushions": True, "headband": False}, StepState.FAILED),
        ({"cords": False, "cushions": True}, StepState.FAILED),
    ],
)
def test_inspection(preset: Preset, inspection: dict[str, bool], state: StepState) -> None:
    result = checked(preset("aaa-2011"), inspection=inspection)
    assert step_of(result, "inspection") is state
    assert result.passed is (state in (StepState.DONE, StepState.SKIPPED))


@pytest.mark.parametrize(
    ("off", "state"), [(None, StepState.SKIPPED), (True, StepState.DONE), (False, StepState.FAILED)]
)
def test_tone_normally_off(preset: Preset, off: bool | None, state: StepState) -> None:
    result = checked(preset("aaa-2011"), tone_normally_off=off)
    assert step_of(result, "tone-off") is state
    assert result.passed is (state is not StepState.FAILED)


@pytest.mark.parametrize(("left", "passes"), [(0, True), (5, True), (10, True), (15, False), (-5, False)])
def test_one_ear_through_both_earphones_within_5_db(preset: Preset, left: int, passes: bool) -> None:
    """Minnesota Department of Health, biological calibration check (read): within 5 dB is usable."""
    same_ear = {"right": {"1000": 5}, "left": {"1000": left}}
    assert checked(preset("aaa-2011"), same_ear=same_ear).passed is passes


def test_level_15_at_one_frequency(preset: Preset) -> None:
    own = {"right": {"1000": 15, "2000": 5, "4000": 0}, "left": {"1000": 10, "2000": 5, "4000": 5}}
    refused = checked(preset("aaa-2011"), own_thresholds=own)
    assert (refused.passed, refused.level_db_hl) == (False, None)
    assert step_of(refused, "level") is StepState.FAILED
    assert "15 dB HL at right 1000 Hz" in refused.rule
    raised = checked(preset("who-2021"), own_thresholds=own)
    assert (raised.passed, raised.level_db_hl) == (True, 25)


def test_the_louder_of_listener_and_meter_decides(preset: Preset) -> None:
    noisy = checked(preset("who-2021"), noise={"1000": 50, "2000": 40, "4000": 40})
    assert (noisy.passed, noisy.level_db_hl) == (True, 25)
    assert "ANSI S3.1-1999" in noisy.rule
    too_noisy = checked(preset("aaa-2011"), noise={"1000": 50})
    assert not too_noisy.passed
    part = checked(preset("aaa-2011"), noise={"1000": 40})
    assert "No noise reading at 2000, 4000 Hz." in part.warnings


def test_a_dropped_500_hz_is_told(preset: Preset) -> None:
    protocol = preset("minnesota")
    tones = [1000, 2000, 4000, 500]
    result = checked(
        protocol,
        listening={"right": tones, "left": tones},
        own_thresholds={ear: {"1000": 5, "2000": 5, "4000": 5, "500": 20} for ear in ("right", "left")},
    )
    assert (result.passed, result.drop) == (True, (500,))


def test_facts_come_back_equal(preset: Preset) -> None:
    facts = ReadinessFacts.from_dict(
        READY
        | {
            "inspection": {"cords": True},
            "tone_normally_off": False,
            "same_ear": {"right": {"500": 5}},
            "noise": {"500": 33.5},
            "noise_set": "asha-1997",
            "earphone_type": "supra-aural",
            "room": "library",
            "listener": "MK",
        }
    )
    assert ReadinessFacts.from_dict(facts.to_dict()) == facts
    plain = ReadinessFacts.from_dict(READY)
    assert ReadinessFacts.from_dict(plain.to_dict()) == plain
    assert plain.to_dict() == READY


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"calibrated": "20.8.2026"}, "calibrated"),
        ({"listening": [1000]}, "listening"),
        ({"listening": {"both": [1000]}}, "listening"),
        ({"listening": {"right": [1001]}}, "listening.right"),
        ({"own_thresholds": {"right": {"1000": 7}}}, "own_thresholds.right"),
        ({"own_thresholds": {"right": {"1000": "low"}}}, "own_thresholds.right"),
        ({"audiometer": 4}, "audiometer"),
        ({"inspection": {"cords": "fine"}}, "inspection"),
        ({"noise": {"1000": 500}}, "noise"),
        ({"noise_set": "mine"}, "noise_set"),
        ({"earphone_type": "loudspeaker"}, "earphone_type"),
    ],
)
def test_facts_that_do_not_read_are_refused_with_the_field(facts: dict[str, Any], field: str) -> None:
    with pytest.raises(FieldRefused) as refused:
        ReadinessFacts.from_dict(READY | facts)
    assert refused.value.field == field


PASSED = StationFor(TODAY, "MK", "AM-04", "EP-04", "library")


@pytest.mark.parametrize(
    ("now", "watch", "why"),
    [
        (PASSED, "", ""),
        (StationFor(TODAY, "MK"), "", ""),
        (StationFor(TODAY + timedelta(days=1), "MK"), "", "another day"),
        (StationFor(TODAY, "AB"), "", "another screener"),
        (StationFor(TODAY, "MK", "AM-02"), "", "another audiometer"),
        (StationFor(TODAY, "MK", "AM-04", "EP-02"), "", "other earphones"),
        (StationFor(TODAY, "MK", room="gym"), "", "another room"),
        (PASSED, "Repeat the listening check: left, 4000 Hz.", "left, 4000 Hz"),
    ],
)
def test_a_check_holds_for_its_day_room_equipment_and_screener(now: StationFor, watch: str, why: str) -> None:
    said = why_expired(PASSED, now, watch=watch)
    assert (why in said) if why else said == ""


# -- a tone that is not clean, and the short way ---------------------------------------------------


def test_a_tone_that_is_not_clean_fails_the_check_with_what_to_do(preset: Preset) -> None:
    """A listening check looks for crackle, clicks and cross-talk: trade-facts of the calibration page, second-hand
    in part, rest from memory; that earphones go with their audiometer: Minnesota Department of Health (read)."""
    heard = {"right": [1000, 2000, 4000], "left": [1000, 2000]}
    result = checked(preset("aaa-2011"), listening=heard, not_clean={"left": [4000]})
    assert not result.passed and result.level_db_hl is None
    assert result.reasons == (
        "Not clean in the listening check: left earphone, 4000 Hz. Change the cord, or the earphones together with "
        "their audiometer, then check again.",
    )
    assert step_of(result, "listening") is StepState.FAILED


def test_a_tone_called_clean_and_not_clean_is_not_clean(preset: Preset) -> None:
    assert not checked(preset("aaa-2011"), not_clean={"right": [1000]}).passed


def test_facts_with_and_without_the_third_state_are_read_back_equal() -> None:
    plain = ReadinessFacts.from_dict(READY)
    assert "not_clean" not in plain.to_dict()  # as in every entry written before it was asked for
    for each in (plain, ReadinessFacts.from_dict(READY | {"not_clean": {"left": [2000, 4000]}})):
        assert ReadinessFacts.from_dict(each.to_dict()) == each


@pytest.mark.parametrize(
    ("suspect", "steps"),
    [
        (Suspect.TONE, ("listening",)),
        (Suspect.EARPHONE, ("listening",)),
        (Suspect.ROOM, ("level",)),
        (Suspect.LEVEL, ("listening", "level")),
    ],
)
def test_the_short_way_leaves_out_what_is_asked_for_and_keeps_the_rest(
    preset: Preset, suspect: Suspect, steps: tuple[str, ...]
) -> None:
    passed = ReadinessFacts.from_dict(READY)
    assert asked_steps(suspect) == steps
    rest = without(passed, steps)
    again = check(rest, preset("aaa-2011"), TODAY)
    assert not again.passed
    unanswered = {r.key for r in again.steps if r.state is StepState.OPEN}
    assert unanswered == set(steps)
    kept = {name for name, value in passed.to_dict().items() if rest.to_dict().get(name) == value}
    assert {"audiometer", "earphones", "calibrated"} <= kept


def test_every_step_of_the_check_knows_its_facts() -> None:
    assert set(FACTS_OF) == {step.key for step in STEPS}
    assert asked_steps("something newer") == tuple(FACTS_OF)
