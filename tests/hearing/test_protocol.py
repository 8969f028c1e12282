"""Protocols as data: the shipped presets, their marks, and nonsense refused with the field named."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

import assets
from shared.hearing.protocol import MARKS, CopyOf, Protocol, ProtocolError, plain_grade
from tests.hearing.conftest import PRESETS

PresetData = Callable[[str], dict[str, Any]]
Preset = Callable[[str], Protocol]

# What an unmarked field of a preset may be: names, not rules.
UNMARKED = {"name", "title", "source", "checked", "verified", "marks", "cautions", "rescreen_set_locally"}


def test_the_shipped_presets_are_the_eleven() -> None:
    names = {path.stem for path in assets.path("protocols").glob("*.toml")}
    assert names == set(PRESETS) and len(names) == 11


def test_a_preset_says_where_it_is_from_and_how_far_to_trust_it(each_preset: Protocol) -> None:
    assert each_preset.source
    assert date.fromisoformat(each_preset.checked)
    assert each_preset.verified is False, "no person has compared it with the rule in force"
    assert each_preset.cautions
    assert set(each_preset.marks.values()) <= set(MARKS)


def test_every_rule_of_a_preset_carries_a_mark(each_preset: Protocol, preset_data: PresetData) -> None:
    given = set(preset_data(each_preset.name)) - UNMARKED
    assert given <= set(each_preset.marks), f"without a mark: {given - set(each_preset.marks)}"
    if each_preset.mark_of("rescreen_days") == "set locally":
        assert each_preset.rescreen_set_locally
        assert each_preset.rescreen_days == (14, 42)
    else:
        assert not each_preset.rescreen_set_locally


def test_a_preset_names_no_cause_type_or_treatment(each_preset: Protocol) -> None:
    """What it says may be printed, and screening is not diagnosis."""
    words = json.dumps(each_preset.to_dict()).lower()
    for word in (
        "conductive",
        "sensorineural",
        "mixed loss",
        "otitis",
        "wax",
        "infection",
        "middle ear",
        "surgery",
    ):
        assert word not in words


def test_a_walk_begins_at_1000_in_the_right_ear(each_preset: Protocol) -> None:
    """Common practice, no source."""
    assert each_preset.steps()[0] == ("right", 1000)
    assert len(each_preset.steps()) == 2 * len(each_preset.frequencies)


def test_a_protocol_comes_back_equal_from_json(each_preset: Protocol) -> None:
    assert Protocol.from_dict(json.loads(json.dumps(each_preset.to_dict()))) == each_preset


NONSENSE = [
    ("frequencies", [], "frequencies"),
    ("frequencies", [1000, 1001], "frequencies"),
    ("frequencies", [1000, 1000], "frequencies"),
    ("frequencies", "1000", "frequencies"),
    ("frequencies", [1000, 3000], "levels.by_hz"),  # no level for 3000
    ("levels", [], "levels"),
    ("levels", [{"by_hz": {"1000": 22, "2000": 20, "4000": 20}}], "levels.by_hz"),
    ("levels", [{"by_hz": {"1000": 20, "2000": 20}}], "levels.by_hz"),
    ("levels", [{"by_hz": {"1000": 65, "2000": 20, "4000": 20}}], "levels.by_hz"),
    ("levels", [{"grades": ["K"], "by_hz": {"1000": 20, "2000": 20, "4000": 20}}], "levels"),
    ("raised_level", 20, "raised_level"),
    ("raised_level", 27, "raised_level"),
    ("presentations", 0, "presentations"),
    ("presentations", True, "presentations"),
    ("misses_to_fail", 0, "misses_to_fail"),
    ("misses_to_fail", 7, "misses_to_fail"),
    ("rescreen_days", [42, 14], "rescreen_days"),
    ("rescreen_days", [-1, 14], "rescreen_days"),
    ("rescreen_days", [14, 15, 16], "rescreen_days"),
    ("rescreen_days", 14, "rescreen_days"),
    ("second_ear", "sideways", "second_ear"),
    ("after_first_fail", "ignore", "after_first_fail"),
    ("after_second_fail", "rescreen", "after_second_fail"),
    ("after_second_fail", "threshold", "referral"),
    ("retest_same_session", "yes", "retest_same_session"),
    ("verified", 1, "verified"),
    ("name", "", "name"),
    ("name", "a/b", "name"),
    ("title", "  ", "title"),
    ("checked", "yesterday", "checked"),
    ("marks", {"levels": "rumour"}, "marks"),
    ("marks", {"colour": "read"}, "marks"),
    ("frequnecies", [1000], "frequnecies"),
    ("threshold_limit", 101, "threshold_limit"),
    ("threshold_procedure", "guessing", "threshold_procedure"),
    ("exemptions", [{"words": "no reason"}], "exemptions.reason"),
    ("could_not_test", [{"within_days": 9000, "action": "wait"}], "could_not_test.within_days"),
    ("referral", {"lines": {"1000": 30}}, "referral.count"),
    ("referral", {"lines": {"1000": 30}, "count": 2}, "referral.count_of"),
    ("referral", {"lines": {"1000": 30}, "pairs": [[1000, 2000]]}, "referral.pairs"),
    ("referral", {"single_line": 110}, "threshold_limit"),
    ("referral", {"single_line": 31}, "referral.single_line"),
    ("referral", {"lines": {"8000": 40, "250": 40}, "count": 2}, "threshold_frequencies"),
]


@pytest.mark.parametrize(("field", "value", "named"), NONSENSE)
def test_nonsense_is_refused_with_the_field_named(
    preset_data: PresetData, field: str, value: Any, named: str
) -> None:
    with pytest.raises(ProtocolError) as refused:
        Protocol.from_dict(preset_data("aaa-2011") | {field: value})
    assert refused.value.field == named
    assert named in refused.value.happened


@pytest.mark.parametrize("field", ["name", "title", "frequencies", "levels"])
def test_what_cannot_be_left_out(preset_data: PresetData, field: str) -> None:
    data = preset_data("aaa-2011")
    del data[field]
    with pytest.raises(ProtocolError) as refused:
        Protocol.from_dict(data)
    assert refused.value.field == field


@pytest.mark.parametrize("data", [None, [], "aaa-2011", 3])
def test_what_is_no_table_is_refused(data: Any) -> None:
    with pytest.raises(ProtocolError):
        Protocol.from_dict(data)


def test_a_copy_marks_what_was_changed(preset: Preset) -> None:
    ours = preset("washington-246-760").copied(
        "our-district", title="Our district", rescreen_days=[7, 21], misses_to_fail=2
    )
    assert (ours.name, ours.title, ours.rescreen_days) == ("our-district", "Our district", (7, 21))
    assert ours.mark_of("rescreen_days") == ours.mark_of("misses_to_fail") == "set locally"
    assert ours.mark_of("frequencies") == "read"
    assert ours.rescreen_set_locally and not ours.verified
    assert preset("washington-246-760").rescreen_days == (1, 42), "the preset itself is untouched"


def test_a_copy_is_checked_like_any_protocol(preset: Preset) -> None:
    with pytest.raises(ProtocolError) as refused:
        preset("aaa-2011").copied("ours", rescreen_days=[42, 14])
    assert refused.value.field == "rescreen_days"


def test_an_open_ended_window(preset: Preset) -> None:
    ours = preset("aaa-2011").copied("ours", rescreen_days=[21])
    assert ours.rescreen_days == (21, None)
    assert Protocol.from_dict(ours.to_dict()) == ours


def test_a_copy_may_be_marked_verified_by_a_person(preset: Preset) -> None:
    assert preset("texas-37-24").copied("texas-2026", verified=True, checked="2026-12-01").verified


@pytest.mark.parametrize(
    ("written", "plain"),
    [
        ("K", "K"), ("k", "K"), ("KG", "K"), ("0", "K"), ("1", "1"), ("01", "1"), ("1st", "1"), ("2ND", "2"),
        ("3rd", "3"), ("11th", "11"), ("Grade 5", "5"), ("PK", "PK"), ("pre-k", "PK"), ("Preschool", "PK"),
        ("", ""), ("Special", "SPECIAL"),
    ],
)  # fmt: skip
def test_grades_as_schools_write_them(written: str, plain: str) -> None:
    assert plain_grade(written) == plain


def test_a_copy_says_what_it_is_a_copy_of_and_what_it_changed(preset: Preset) -> None:
    first = preset("washington-246-760")
    ours = first.copied("ours", title="Ours", rescreen_days=[7, 21])
    assert ours.copy_of == CopyOf("washington-246-760", first.title, ("rescreen_days",))
    again = ours.copied("again", misses_to_fail=2)
    assert again.copy_of == CopyOf("washington-246-760", first.title, ("misses_to_fail", "rescreen_days"))
    assert again.source == first.source and not again.verified
    assert Protocol.from_dict(json.loads(json.dumps(again.to_dict()))) == again


def test_a_protocol_written_before_copies_were_named_reads_as_it_did(preset: Preset) -> None:
    old = preset("aaa-2011").to_dict()
    assert "copy_of" not in old
    assert Protocol.from_dict(old).copy_of is None


@pytest.mark.parametrize(
    ("copy_of", "named"),
    [
        ("aaa-2011", "copy_of"),
        ({"name": "aaa-2011"}, "copy_of.title"),
        ({"name": "aaa-2011", "title": "AAA", "changed": ["colour"]}, "copy_of.changed"),
        ({"name": "aaa-2011", "title": "AAA", "changed": ["title"]}, "copy_of.changed"),
        ({"name": "aaa-2011", "title": "AAA", "since": 2011}, "copy_of.since"),
    ],
)
def test_nonsense_about_the_original_is_refused(preset_data: PresetData, copy_of: Any, named: str) -> None:
    with pytest.raises(ProtocolError) as refused:
        Protocol.from_dict(preset_data("aaa-2011") | {"copy_of": copy_of})
    assert refused.value.field == named
