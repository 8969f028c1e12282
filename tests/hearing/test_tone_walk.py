"""The tone walk's states, and its outcome against a rule written once more in the plainest way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.protocol import LevelBand, Protocol
from shared.hearing.tone_walk import Action, ToneWalk, WalkRefused, WalkState

Preset = Callable[[str], Protocol]


def walked(protocol: Protocol, letters: str) -> ToneWalk:
    return ToneWalk.replay(protocol, map(Action, letters))


def test_six_taps_pass_a_child(preset: Preset) -> None:
    walk = ToneWalk.begin(preset("aaa-2011"))
    seen = []
    while walk.step is not None:
        seen.append((walk.step.ear, walk.step.hz, walk.step.level_db_hl))
        walk = walk.take(Action.HEARD)
    assert seen == [
        ("right", 1000, 20),
        ("right", 2000, 20),
        ("right", 4000, 20),
        ("left", 4000, 20),
        ("left", 2000, 20),
        ("left", 1000, 20),
    ]
    assert (walk.state, walk.passed, walk.missed, walk.reseated) == (WalkState.DONE, True, (), False)


def test_the_second_ear_may_restart_from_1000(preset: Preset) -> None:
    protocol = preset("aaa-2011").copied("ours", second_ear="restart")
    assert [hz for _, hz in protocol.steps()] == [1000, 2000, 4000, 1000, 2000, 4000]


def test_a_miss_asks_for_reseating_and_the_second_walk_decides(preset: Preset) -> None:
    walk = walked(preset("aaa-2011"), "+++-++")
    assert (walk.state, walk.passed, walk.may_finish) == (WalkState.RESEAT_DUE, None, True)
    assert walk.missed == (("left", 4000),)
    again = walked(preset("aaa-2011"), "+++-++/++++++")
    assert (again.state, again.passed, again.missed, again.reseated) == (WalkState.DONE, True, (), True)
    assert [answer.walk for answer in again.answers] == [1] * 6 + [2] * 6
    still = walked(preset("aaa-2011"), "+++-++/++++-+")
    assert (still.passed, still.missed) == (False, (("left", 2000),))


def test_without_same_session_retest_a_miss_decides_at_once(preset: Preset) -> None:
    walk = walked(preset("washington-246-760"), "+-++++")
    assert (walk.state, walk.passed) == (WalkState.DONE, False)


def test_earphones_may_slip_before_the_walk_is_complete(preset: Preset) -> None:
    walk = walked(preset("aaa-2011"), "++/")
    assert walk.state is WalkState.WALKING_AGAIN
    assert walk.step is not None
    assert (walk.step.index, walk.step.ear, walk.step.hz, walk.step.walk) == (0, "right", 1000, 2)


@pytest.mark.parametrize("letters", ["++++++/", "+++-+++", "+++-++-", "++//", "+++-++/++/", "+++-++/+++-++/"])
def test_actions_without_a_place_are_refused(preset: Preset, letters: str) -> None:
    with pytest.raises(WalkRefused):
        walked(preset("aaa-2011"), letters)


def test_one_miss_passes_where_two_fail(preset: Preset) -> None:
    """A Florida district's rule, second-hand: one miss is a pass, two fail."""
    district = preset("aaa-2011").copied("district", misses_to_fail=2, retest_same_session=False)
    assert walked(district, "-+++++").passed is True
    assert walked(district, "-++++-").passed is False


def test_levels_follow_frequency_grade_and_what_the_room_permits(preset: Preset) -> None:
    connecticut = ToneWalk.begin(preset("connecticut-10-214"))
    assert [level for _, _, level in connecticut.tones] == [20, 20, 25, 25, 20, 20]
    # 16 TAC 111.190 (read): 25 dB HL for pre-kindergarten and kindergarten, 20 for grades 1 to 12.
    levels = (
        LevelBand({1000: 25, 2000: 25, 4000: 25}, ("PK", "K")),
        LevelBand({1000: 20, 2000: 20, 4000: 20}),
    )
    licensed = replace(preset("aaa-2011"), levels=levels)
    for grade, level in (("PK", 25), ("K", 25), ("k", 25), ("1", 20), ("01", 20), ("12", 20), ("", 20)):
        assert {tone[2] for tone in ToneWalk.begin(licensed, grade=grade).tones} == {level}
    raised = ToneWalk.begin(preset("who-2021"), permitted=25)
    assert {tone[2] for tone in raised.tones} == {25}


def test_a_noisy_500_hz_is_left_out(preset: Preset) -> None:
    walk = ToneWalk.begin(preset("minnesota"), drop=(500,))
    assert [hz for _, hz, _ in walk.tones] == [1000, 2000, 4000, 4000, 2000, 1000]


def plain_outcome(letters: str, tones: int, fail_at: int, retest: bool) -> tuple[str, bool | None] | None:
    """The rule in the plainest way: (state, passed), or None where some letter has no place."""
    first, slash, second = letters.partition("/")
    if "/" in second or len(first) > tones or len(second) > tones:
        return None
    failing = len(first) == tones and first.count("-") >= fail_at
    if not slash:
        if len(first) < tones:
            return ("walking", None)
        if not failing:
            return ("done", True)
        return ("reseat-due", None) if retest else ("done", False)
    if len(first) == tones and not (failing and retest):
        return None
    if len(second) < tones:
        return ("walking-again", None)
    return ("done", second.count("-") < fail_at)


@given(
    letters=st.text("++++-/", max_size=16),
    fail_at=st.integers(1, 3),
    retest=st.booleans(),
)
def test_every_sequence_ends_as_the_plain_rule_says(letters: str, fail_at: int, retest: bool) -> None:
    protocol = Protocol(
        name="plain",
        title="plain",
        frequencies=(1000, 2000, 4000),
        levels=(LevelBand({1000: 20, 2000: 20, 4000: 20}),),
        misses_to_fail=fail_at,
        retest_same_session=retest,
    )
    expected = plain_outcome(letters, 6, fail_at, retest)
    if expected is None:
        with pytest.raises(WalkRefused):
            walked(protocol, letters)
        return
    walk = walked(protocol, letters)
    assert (walk.state.value, walk.passed) == expected
    assert "".join(walk.actions) == letters
    assert walk.may_finish == (expected[0] in ("done", "reseat-due"))
    if letters:
        assert walk.undo() == walked(protocol, letters[:-1])
    else:
        with pytest.raises(WalkRefused):
            walk.undo()


@given(st.lists(st.sampled_from("+-"), min_size=6, max_size=6), st.data())
def test_hearing_more_never_turns_a_pass_into_a_fail(letters: list[str], data: st.DataObject) -> None:
    protocol = Protocol(
        name="plain",
        title="plain",
        frequencies=(1000, 2000, 4000),
        levels=(LevelBand({1000: 20, 2000: 20, 4000: 20}),),
        misses_to_fail=2,
        retest_same_session=False,
    )
    better = list(letters)
    better[data.draw(st.integers(0, 5))] = "+"
    assert walked(protocol, "".join(better)).passed or not walked(protocol, "".join(letters)).passed
