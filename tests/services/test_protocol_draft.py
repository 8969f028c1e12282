"""A copy while it is changed: every control of every field, marks, and the same refusals as for a file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fieldapp.screens import protocol_words
from fieldapp.screens.protocol.controls import Controls, Key
from fieldapp.screens.translation import LANGUAGES, Translator
from fieldapp.services.own_protocols import OwnProtocols
from fieldapp.services.presets import preset, preset_names
from fieldapp.services.protocol_draft import FIRST_LINE, TRY_AGAIN, ProtocolDraft
from shared.errors import WriteRefused
from shared.hearing.fields import FREQUENCIES
from shared.hearing.protocol import Protocol, ProtocolError
from shared.hearing.protocol_marks import FIELDS, by_mark, in_use
from shared.hearing.room import NOISE_SETS, noise_limits


@pytest.fixture
def draft() -> ProtocolDraft:
    return ProtocolDraft(preset("washington-246-760"), title="Ours")


def press(draft: ProtocolDraft, field: str, text: str, line: str = "") -> Key:
    """Press the key of that text (in the line of that label)."""
    for each in Controls(Translator("en"), draft).lines(field):
        for key in each.keys:
            if key.text == text and each.label.startswith(line):
                assert not key.off
                key.act()
                return key
    raise AssertionError(f"no key {text!r} in {field}")


def test_what_is_changed_is_marked_and_what_is_put_back_is_not(draft: ProtocolDraft) -> None:
    press(draft, "levels", "+", "2000 Hz")
    assert draft["levels"][0]["by_hz"] == {"1000": 20, "2000": 25, "4000": 20}
    ours = draft.protocol("ours")
    assert ours.mark_of("levels") == "set locally"
    assert ours.copy_of is not None and ours.copy_of.changed == ("levels",)
    assert not ours.verified
    press(draft, "levels", "–", "2000 Hz")
    assert draft.protocol("ours").mark_of("levels") == "read"
    assert draft.changes == {}


@pytest.mark.parametrize(
    ("field", "value", "named"),
    [
        ("frequencies", [], "frequencies"),
        ("levels", [{"grades": [], "by_hz": {"1000": 22, "2000": 20, "4000": 20}}], "levels.by_hz"),
        ("rescreen_days", [42, 14], "rescreen_days"),
        ("misses_to_fail", 7, "misses_to_fail"),
        ("after_second_fail", "threshold", "referral"),
        ("raised_level", 20, "raised_level"),
    ],
)
def test_nonsense_is_refused_as_in_a_file_and_nothing_is_lost(
    draft: ProtocolDraft, field: str, value: Any, named: str
) -> None:
    draft.put("presentations", 3)
    draft.put(field, value)
    error = draft.refusal()
    assert error is not None and error.field == named
    with pytest.raises(ProtocolError) as in_a_file:
        Protocol.from_dict(preset("washington-246-760").to_dict() | {field: value})
    assert (in_a_file.value.field, in_a_file.value.reason) == (error.field, error.reason)
    assert (draft[field], draft["presentations"]) == (value, 3)
    draft.as_first(field)
    assert draft.refusal() is None
    assert draft.changes == {"presentations": 3}


def test_nonsense_is_not_saved(draft: ProtocolDraft, tmp_path: Path) -> None:
    own = OwnProtocols(tmp_path)
    draft.put("rescreen_days", [42, 14])
    with pytest.raises(ProtocolError):
        draft.save(own)
    assert own.names() == [] and draft.name == ""
    draft.put("rescreen_days", [14, 42])
    assert draft.save(own).name == "ours"
    assert not draft.touched
    draft.put("presentations", 2)
    assert draft.touched
    draft.save(own)
    assert own.names() == ["ours"] and own.load("ours").presentations == 2


def test_a_disk_that_takes_nothing_loses_nothing(draft: ProtocolDraft, tmp_path: Path) -> None:
    (tmp_path / "in-the-way").write_text("", "utf-8")
    draft.put("presentations", 3)
    with pytest.raises(WriteRefused):
        draft.save(OwnProtocols(tmp_path / "in-the-way"))
    assert draft["presentations"] == 3 and draft.name == "" and draft.touched


def test_a_copy_that_is_changed_again_is_measured_against_the_preset(tmp_path: Path) -> None:
    own = OwnProtocols(tmp_path)
    first = ProtocolDraft(preset("texas-37-24"), title="Ours")
    first.put("rescreen_days", [14, 28])
    kept = first.save(own)
    again = ProtocolDraft(own.load(kept.name), name=kept.name)
    assert again.first == preset("texas-37-24")
    assert again.mark("rescreen_days") == "set locally" and not again.touched
    again.as_first("rescreen_days")
    assert again.save(own).mark_of("rescreen_days") == "read"
    copied = ProtocolDraft(own.load(kept.name), title="Ours too")
    assert copied.save(own).copy_of == preset("texas-37-24").copied("x").copy_of


def test_tones_are_ordered_added_and_taken_out(draft: ProtocolDraft) -> None:
    press(draft, "frequencies", "+ 500")
    assert draft["frequencies"] == [1000, 2000, 4000, 500]
    assert draft["levels"][0]["by_hz"]["500"] == 20
    press(draft, "frequencies", "↑", "4.")
    assert draft["frequencies"] == [1000, 2000, 500, 4000]
    press(draft, "frequencies", "↓", "1.")
    assert draft["frequencies"] == [2000, 1000, 500, 4000]
    for _ in range(4):
        press(draft, "frequencies", "×", "1.")
    error = draft.refusal()
    assert error is not None and (error.field, error.reason) == ("frequencies", "names no frequency")
    press(draft, "frequencies", "+ 1000")
    assert draft.refusal() is None


def test_levels_of_their_own_for_some_grades(draft: ProtocolDraft) -> None:
    draft.add_band(("K", "1"))
    press(draft, "levels", "+", "1000 Hz")  # of all other grades
    draft.set_level(1, 4000, 30)
    ours = draft.protocol("ours")
    assert [ours.level(hz, grade="K") for hz in (1000, 4000)] == [20, 30]
    assert [ours.level(hz, grade="5") for hz in (1000, 4000)] == [25, 20]
    draft.add_band(("1",))
    assert [band["grades"] for band in draft["levels"]] == [[], ["K"], ["1"]]
    draft.drop_band(2)
    draft.drop_band(1)
    assert len(draft["levels"]) == 1


def test_a_referral_rule_is_made_cautiously_and_changed(draft: ProtocolDraft) -> None:
    press(draft, "referral", "With a rule")
    press(draft, "after_second_fail", "threshold test")
    rule = draft.protocol("ours").referral
    assert rule is not None and rule.single_line == FIRST_LINE and rule.tests == 1
    press(draft, "referral", "+", "How many")
    press(draft, "referral", "+", "How many")
    press(draft, "referral", "✓ 4000 Hz", "Out of")
    press(draft, "referral", "2000 + 4000", "Both")
    press(draft, "referral", "+", "2000 Hz")
    press(draft, "referral", "+", "On how many")
    press(draft, "referral", "no", "Any one")
    rule = draft.protocol("ours").referral
    assert rule is not None
    assert (rule.count, rule.count_of, rule.pairs, rule.single_line) == (
        2,
        (1000, 2000),
        ((2000, 4000),),
        None,
    )
    assert rule.lines == {1000: 30, 2000: 35, 4000: 30} and rule.tests == 2
    press(draft, "referral", "Without")
    error = draft.refusal()
    assert error is not None and error.field == "referral"


def test_a_changed_rule_for_could_not_test_does_not_keep_the_words_of_other_days() -> None:
    draft = ProtocolDraft(preset("minnesota"), title="Ours")
    draft.set_in("could_not_test", 1, "within_days", 60)
    assert [rule.action for rule in draft.protocol("ours").could_not_test] == [
        "Rescreen within 6 months (age 3).",
        TRY_AGAIN,
    ]


def test_exemptions_are_turned_off_and_on_with_their_words() -> None:
    draft = ProtocolDraft(preset("arizona-r9-13"), title="Ours")
    press(draft, "exemptions", "✓ Age")
    assert [each["reason"] for each in draft["exemptions"]] == ["under-care", "declined"]
    press(draft, "exemptions", "Age")
    assert draft["exemptions"][-1] == preset("arizona-r9-13").exemptions[-1].to_dict()
    press(draft, "exemptions", "–", "Months")
    assert draft["exemptions"][0]["months"] == 11


@pytest.mark.parametrize("name", preset_names())
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_key_of_every_field_leads_to_a_protocol_or_to_a_refusal_with_its_field(
    name: str, language: str
) -> None:
    """No key breaks anything, whatever was pressed before; a refusal names a field that the screen can open."""
    t, draft = Translator(language), ProtocolDraft(preset(name), title="Ours")
    for field in FIELDS:
        count = sum(len(line.keys) for line in Controls(t, draft).lines(field))
        for at in range(count):
            keys = [key for line in Controls(t, draft).lines(field) for key in line.keys]
            if at < len(keys) and not keys[at].off:
                keys[at].act()
            data = {each: draft[each] for each in FIELDS}
            assert all(protocol_words.value(t, data, each) for each in FIELDS)
            error = draft.refusal()
            assert error is None or error.field.split(".")[0] in FIELDS


@pytest.mark.parametrize("name", preset_names())
def test_every_field_of_the_rule_is_on_the_screen(name: str) -> None:
    protocol = preset(name)
    told = {field for fields in by_mark(protocol).values() for field in fields}
    assert told <= set(in_use(protocol.to_dict())) <= set(FIELDS)
    # A figure that the preset marks but does not use (a threshold test that never comes) need not be shown.
    assert set(protocol.marks) - told <= {"threshold_frequencies", "threshold_limit", "raised_level"}


@pytest.mark.parametrize("hz", FREQUENCIES)
def test_any_frequency_that_can_be_added_has_noise_limits(hz: int) -> None:
    """A tone of a team's own closes no station for want of a table: between octaves the octave band counts."""
    draft = ProtocolDraft(preset("aaa-2011"), title="Ours")
    draft.put("frequencies", [])
    draft.turn("frequencies", hz)
    for noise_set in NOISE_SETS.values() if isinstance(NOISE_SETS, dict) else NOISE_SETS:
        assert noise_limits(draft.protocol("ours"), noise_set, noise_set.earphones[0])
