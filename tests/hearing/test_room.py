"""The permitted level, by a listener's thresholds and by octave-band noise.

Outside: Minnesota Department of Health, noise level page (read): the listener must reach 10 dB below the screening
level at every frequency (10 for 20, 15 for 25), only 500 Hz failing drops 500 Hz. Noise: ANSI S3.1-1999 and ASHA
1997 figures, the insert row of 500 to 8000 Hz read (also 49 CFR 227 App. D Table D-1), all else from memory.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from shared.hearing.protocol import Protocol
from shared.hearing.room import (
    ANSI_1999,
    ASHA_1997,
    NOISE_SETS,
    noise_limits,
    noise_ruling,
    octave_band,
    permitted_level,
)

Preset = Callable[[str], Protocol]


def listener(protocol: Protocol, level: int, **other: int) -> dict[str, dict[int, int]]:
    """The same threshold everywhere but where ``ear_hz`` says otherwise."""
    found = {ear: dict.fromkeys(protocol.frequencies, level) for ear in ("right", "left")}
    for key, value in other.items():
        ear, _, hz = key.partition("_")
        found[ear][int(hz)] = value
    return found


@pytest.mark.parametrize(
    ("name", "thresholds", "permitted"),
    [
        # common practice, no source: all at or below 10 permits 20 ...
        ("aaa-2011", {}, 20),
        ("aaa-2011", {"right_1000": 10, "left_4000": 10}, 20),
        ("aaa-2011", {"right_1000": -10}, 20),
        # ... any at 15 asks for 25, where the protocol allows it ...
        ("aaa-2011", {"right_1000": 15}, None),
        ("who-2021", {"right_1000": 15}, 25),
        ("who-2021", {"left_4000": 15}, 25),
        # ... and anything above is not fit
        ("who-2021", {"right_1000": 20}, None),
        ("aaa-2011", {"right_1000": 20}, None),
        # protocols that screen at 25 anyway: 15 will do, 20 will not
        ("texas-37-24", {"right_1000": 15}, 25),
        ("texas-37-24", {}, 25),
        ("texas-37-24", {"right_1000": 20}, None),
        # a level per frequency: 15 will do at 4000 Hz (25 dB HL) and not at 1000 Hz (20)
        ("connecticut-10-214", {"right_4000": 15}, 20),
        ("connecticut-10-214", {"right_1000": 15}, None),
    ],
)
def test_own_thresholds_permit_a_level(
    preset: Preset, name: str, thresholds: dict[str, int], permitted: int | None
) -> None:
    protocol = preset(name)
    ruling = permitted_level(listener(protocol, 5, **thresholds), protocol)
    assert ruling.level_db_hl == permitted
    assert ruling.rule
    assert ruling.drop == ()


def test_only_500_hz_failing_drops_500_hz(preset: Preset) -> None:
    protocol = preset("minnesota")
    ruling = permitted_level(listener(protocol, 5, left_500=25), protocol)
    assert (ruling.level_db_hl, ruling.drop) == (20, (500,))
    both = permitted_level(listener(protocol, 5, left_500=25, right_1000=15), protocol)
    assert both.level_db_hl is None
    elsewhere = preset("illinois-675")
    assert permitted_level(listener(elsewhere, 5, left_500=25), elsewhere).level_db_hl is None


def test_a_missing_threshold_permits_nothing(preset: Preset) -> None:
    found = listener(preset("aaa-2011"), 5)
    del found["left"][2000]
    ruling = permitted_level(found, preset("aaa-2011"))
    assert ruling.level_db_hl is None
    assert "left 2000" in ruling.rule


# Limits for screening, dB SPL: permissible level plus screening level. Supra-aural and insert at 20 and 25 dB HL.
DERIVED = [
    (500, 41, 46, 70, 75),
    (1000, 46, 51, 67, 72),
    (2000, 54, 59, 69, 74),
    (4000, 57, 62, 70, 75),
    (8000, 57, 62, 76, 81),
]


@pytest.mark.parametrize(("band", "supra_20", "supra_25", "insert_20", "insert_25"), DERIVED)
def test_ansi_limits_at_the_screening_level(
    preset: Preset, band: int, supra_20: int, supra_25: int, insert_20: int, insert_25: int
) -> None:
    data = preset("illinois-675").to_dict()
    frequencies = [1000, 2000, 4000, 8000, 500]
    for level, supra, insert in ((20, supra_20, insert_20), (25, supra_25, insert_25)):
        by_hz = {str(hz): level for hz in frequencies}
        protocol = Protocol.from_dict(data | {"frequencies": frequencies, "levels": [{"by_hz": by_hz}]})
        assert noise_limits(protocol, ANSI_1999, "supra-aural")[band] == supra
        assert noise_limits(protocol, ANSI_1999, "insert")[band] == insert


@pytest.mark.parametrize(
    ("lowest", "earphones", "low_bands"),
    [
        (125, "supra-aural", {125: 35, 250: 25}),
        (250, "supra-aural", {125: 39, 250: 25}),
        (500, "supra-aural", {125: 49, 250: 35}),
        (1000, "supra-aural", {125: 49, 250: 35}),
        (125, "insert", {125: 59, 250: 53}),
        (250, "insert", {125: 67, 250: 53}),
        (500, "insert", {125: 78, 250: 64}),
    ],
)
def test_the_lowest_tone_chooses_the_range(lowest: int, earphones: str, low_bands: dict[int, int]) -> None:
    """ANSI S3.1-1999's three ranges (that there are three: read in its abstract; the figures from memory)."""
    limits = ANSI_1999.limits(earphones, lowest, {1000: 0})
    assert {band: limits[band] for band in low_bands} == low_bands


def test_insert_row_as_read_in_the_federal_table() -> None:
    """49 CFR 227 App. D Table D-1 (read): 50 47 49 50 56 dB SPL at 500 to 8000 Hz."""
    limits = ANSI_1999.limits("insert", 500, {1000: 0})
    assert [limits[band] for band in (500, 1000, 2000, 4000, 8000)] == [50, 47, 49, 50, 56]


def test_asha_1997_limits_for_20_db_hl(preset: Preset) -> None:
    """From memory: 49.5 at 1000, 54.5 at 2000, 62 at 4000; 41.5 at 500 in the 1985 text."""
    limits = noise_limits(preset("aaa-2011"), ASHA_1997, "supra-aural")
    assert limits == {500: 41.5, 1000: 49.5, 2000: 54.5, 4000: 62}


def test_both_sets_can_be_named(preset: Preset) -> None:
    assert set(NOISE_SETS) == {"ansi-s3.1-1999", "asha-1997"}
    assert all(each.title and each.mark for each in NOISE_SETS.values())


@pytest.mark.parametrize(("at_1000", "permitted"), [(46, 20), (46.5, 25), (51, 25), (51.5, None)])
def test_noise_at_the_limit_is_within_it(preset: Preset, at_1000: float, permitted: int | None) -> None:
    readings = {1000: at_1000, 2000: 40.0, 4000: 30.0}
    ruling = noise_ruling(readings, preset("who-2021"), ANSI_1999, "supra-aural")
    assert ruling.level_db_hl == permitted


def test_the_sets_differ_and_the_choice_decides(preset: Preset) -> None:
    readings = {1000: 48.0, 2000: 40.0, 4000: 30.0}
    aaa = preset("aaa-2011")
    assert noise_ruling(readings, aaa, ASHA_1997, "supra-aural").level_db_hl == 20
    assert noise_ruling(readings, aaa, ANSI_1999, "supra-aural").level_db_hl is None
    assert noise_ruling(readings, aaa, ANSI_1999, "insert").level_db_hl == 20
    assert noise_ruling(readings, aaa, ASHA_1997, "insert").level_db_hl is None


def test_noise_at_500_hz_alone_drops_500_hz(preset: Preset) -> None:
    readings = {500: 50.0, 1000: 40.0, 2000: 40.0, 4000: 40.0}
    ruling = noise_ruling(readings, preset("minnesota"), ANSI_1999, "supra-aural")
    assert (ruling.level_db_hl, ruling.drop) == (20, (500,))


@pytest.mark.parametrize(
    ("hz", "band"),
    [
        (250, 250),
        (500, 500),
        (750, 1000),
        (1000, 1000),
        (1500, 2000),
        (2000, 2000),
        (3000, 4000),
        (6000, 8000),
    ],
)
def test_octave_bands_reach_from_root_two_below_to_root_two_above(hz: int, band: int) -> None:
    assert octave_band(hz) == band
    assert band / 2**0.5 <= hz <= band * 2**0.5
