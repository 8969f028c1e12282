"""The pictures of what a screener is asked before a walk, and of the station that the watch has closed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from demo.gallery_visit import GalleryVisit
from demo.window import Hand
from shared.records.entries import Reason
from shared.records.standing import Status

DEAD_LEFT = "+++---/+++---"


def doors(hand: Hand, visit: GalleryVisit) -> Iterator[str]:
    """One child through every door, and its menu with a reason in force; it is as before at the end."""
    session, stage = hand.session, hand.app.stage
    station, act = session.station, stage.current.presenter
    child = _waiting(session, "3B")
    act.more(child)
    hand.frames()
    hand.touch(session.t("status.ear-problem").capitalize())
    yield "ear-signs"
    _turn(hand, "structure")
    yield "ear-signs-noted"
    _turn(hand, "drainage")
    hand.pressable(session.t("ear.left_row")).press()  # a low screen has it further down
    yield "ear-signs-stop"
    hand.front.take()
    yield "list-noted"
    act.choose(child)
    yield "child-ears-today"
    hand.front.close()
    act.more(child)
    hand.frames()
    hand.touch(session.t("status.could-not-test").capitalize())
    yield "could-not-why"
    hand.front.close()
    for reason, name in ((Reason.DECLINED, "child-declined"), (Reason.UNDER_CARE, "child-under-care")):
        station.not_tested(child, reason)
        act.choose(child)
        yield name
        hand.front.close()
    act.more(child)
    yield "child-menu-reason-chosen"
    hand.front.close()
    station.take_back(child)
    longest = max(station.standings(), key=lambda s: len(s.person.given) + len(s.person.family))
    act.more(longest.child)
    yield "child-menu-long-name"
    hand.front.close()
    act.choose(next(s.child for s in station.standings() if s.status is Status.RESCREEN))
    yield "child-too-early"
    hand.front.close()
    session.pause()
    yield "pause"
    hand.front.close()


def alarm(hand: Hand, visit: GalleryVisit, watch: Any) -> Iterator[str]:
    """The left earphone dies; the watch closes the station until the listening check is repeated."""
    session, stage = hand.session, hand.app.stage
    station = session.station
    while not station.ready.asked:
        station.walk_script(_waiting(session, None), DEAD_LEFT)
    session.go("today")
    yield "today-watch-asks"
    session.go("next_child")
    yield "list-watch-asks"
    stage.current.presenter.choose(_waiting(session, None))
    yield "list-station-closed"
    hand.front.close()
    session.go("readiness")
    yield "readiness-short-way"
    act = stage.current.presenter
    for tone in act.tones[:4]:
        act.tap_tone(tone)
    act.tap_tone(act.tones[3])
    yield "readiness-not-clean"
    act.onward()
    yield "readiness-not-clean-verdict"
    session.go("today")
    yield "today-fault-found"
    session.go("readiness")
    act = stage.current.presenter
    for tone in act.tones:
        act.tap_tone(tone)
    act.onward()
    yield "readiness-short-way-ready"
    yield from _unreliable(hand, watch)


def _unreliable(hand: Hand, watch: Any) -> Iterator[str]:
    """A child whose three tries at one tone lie 20 dB apart each."""
    session, stage = hand.session, hand.app.stage
    testing = session.station.thresholds
    child = next(s.child for s in session.station.standings() if s.status is Status.RESCREEN)
    session.station.begin_threshold_test(child)
    session.go("threshold")
    tries, hears = iter((15, 35, 55)), 15
    while (search := testing.current.search) is not None:
        if not search.presentations:
            hears = next(tries) if (search.ear, search.hz) == ("right", 1000) else 15
        watch.wait()
        stage.current.presenter.answer(search.level >= hears)
    yield "threshold-not-reliable"
    stage.current.presenter.finish()
    yield "threshold-not-reliable-result"


def _waiting(session: Any, class_name: str | None) -> str:
    rows = session.station.rows(class_name)
    return str(next(row.child for row in rows if session.station.waits(row)))


def _turn(hand: Hand, sign: str) -> None:
    hand.pressable(hand.session.t(f"ear_sign.{sign}")).press()
