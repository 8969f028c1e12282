"""The readiness check without a window, on a station in memory."""

from __future__ import annotations

from fieldapp.screens.readiness.presenter import ITEMS, ReadinessPresenter


def filled_readiness(room, level=5):
    ready = ReadinessPresenter(room.session)
    ready.enter()
    for sign in "AM-04":
        ready.press(sign)
    ready.type_into("earphones")
    for sign in "EP-4⌫04":
        ready.press(sign)
    ready.choose_date("2026-08-20")
    for item in ITEMS:
        ready.tap_item(item)
    for tone in ready.tones:
        ready.tap_tone(tone)
    for _tone in ready.tones:
        ready.choose_level(level)
    return ready


def test_readiness_step_by_step_opens_the_station(room):
    ready = filled_readiness(room)
    assert ready.numbers == {"audiometer": "AM-04", "earphones": "EP-04"}
    for _ in range(6):
        ready.onward()
    assert ready.step == "verdict"
    assert ready.verdict.passed and "20 dB HL" in ready.verdict.title
    ready.onward()
    assert room.went[-1][0] == "next_child"


def test_what_was_entered_is_kept_when_one_looks_elsewhere(room):
    ready = filled_readiness(room)
    ready.enter()
    assert ready.numbers["audiometer"] == "AM-04" and ready.calibrated == "2026-08-20"
    ready.check()
    ready.enter()
    assert ready.numbers["audiometer"] == "" and ready.verdict is None


def test_a_check_that_was_begun_outlasts_the_lock_for_the_same_screener_and_day(room):
    ready = ReadinessPresenter(room.session)
    ready.enter()
    ready.numbers["audiometer"] = "AM-04"
    ready.choose_level(5)
    ready.open_step("own")
    ready.leave()  # the lock throws every screen away
    again = ReadinessPresenter(room.session)
    again.enter()
    assert again.numbers["audiometer"] == "AM-04" and again.step == "own" and len(again.own) == 1
    again.choose_level(10)
    assert len(ready.own) == 1  # a copy: the old screen is not written on

    room.station.screener = "TW"  # other ears: these own thresholds are not theirs
    other = ReadinessPresenter(room.session)
    assert other.numbers["audiometer"] == "" and other.own == {}
    room.station.screener = "MK"
    room.clock.wait(24 * 3600)
    assert ReadinessPresenter(room.session).own == {}


def test_a_check_that_was_made_is_not_taken_up_again(room):
    ready = filled_readiness(room)
    ready.leave()
    ready.check()
    ready.leave()
    assert room.session.begun_check == {}
    assert ReadinessPresenter(room.session).numbers["audiometer"] == ""


def test_noise_that_was_not_measured_never_looks_done(room):
    ready = filled_readiness(room)

    def noise():
        return next(sign for sign in ready.signs() if sign.title == "Noise")

    assert not noise().done and not noise().skipped
    ready.check()
    assert ready.verdict.passed
    assert not noise().done and noise().skipped
    ready.open_step("noise")
    ready.press_noise("9")
    ready.open_step("own")
    assert noise().done and not noise().skipped


def test_a_too_high_own_threshold_keeps_the_station_closed(room):
    ready = filled_readiness(room, level=40)
    ready.check()
    assert not ready.verdict.passed
    assert [sign.title for sign in ready.signs() if sign.failed] == ["Own thresholds"]
    assert ready.verdict.words.endswith("the equipment is not fit.\n" + room.session.t("readiness.not_fit"))
    assert not any(sign.failed and sign.done for sign in ready.signs())
    ready.onward()
    assert room.went[-1][0] == "today"
    assert not room.station.ready.open


def test_own_thresholds_are_asked_for_in_reading_order(room):
    ready = ReadinessPresenter(room.session)
    ready.enter()
    asked = []
    for _tone in ready.tones:
        asked.append(ready.asked)
        ready.choose_level(5)
    assert asked == [(ear, hz) for ear in ("right", "left") for hz in (1000, 2000, 4000)]


def test_something_broken_keeps_the_station_closed(room):
    ready = filled_readiness(room)
    ready.tap_item("cords")
    ready.check()
    assert not ready.verdict.passed
