"""The station watch and the threshold test at work on a tablet, by script and by taps.

A dead earphone is noticed within five children (this project's measure). The staircases are constructed from the
bracketing rule of the ASHA Guidelines for Manual Pure-Tone Threshold Audiometry, 2005 (from memory).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from fieldapp.services.presets import load_protocol
from fieldapp.services.script import LineRefused, Player
from fieldapp.services.station import Station
from shared.errors import Refused
from shared.records.entries import Kind
from shared.records.standing import Person, Status

PASSPHRASE = "seven quiet bells ring"
DEAD_LEFT = "+++---/+++---"


@pytest.fixture
def big_station(visit):
    station = visit.tablet("A")
    children = [station.add_child(Person(f"Child{n}", f"Family{n}", class_name="5A")) for n in range(60)]
    return station, children


def test_a_dead_left_earphone_is_noticed_within_five_children(visit, big_station):
    station, children = big_station
    for child in children[:39]:
        visit.pass_time(minutes=2)
        station.walk_script(child, "++++++")
    assert station.ready.asked == ""
    caught = None
    for count, child in enumerate(children[39:45], 1):
        visit.pass_time(minutes=2)
        station.walk_script(child, DEAD_LEFT)
        if station.ready.asked:
            caught = count
            break
    assert caught is not None and caught <= 5
    assert "left" in station.ready.asked
    assert station.ready.open
    assert {s.child for s in station.walk_again()} == set(children[39 : 39 + caught])
    (raised,) = station.ledger.register.entries(Kind.WATCH_RAISED)
    assert raised.body["since"] == children[39]


def test_after_the_check_the_children_are_walked_again_and_the_faulty_walks_replaced(visit, big_station):
    station, children = big_station
    for child in children[:5]:
        station.walk_script(child, DEAD_LEFT)
    assert station.ready.asked
    assert station.standing(children[0]).status is Status.RESCREEN
    visit.ready_again(station)
    assert station.ready.asked == ""
    for child in children[:5]:
        station.walk_script(child, "++++++", again="station watch: left earphone")
    assert station.walk_again() == []
    assert all(station.standing(child).status is Status.PASSED for child in children[:5])
    assert not station.doubts()


def test_the_watch_goes_on_after_the_tablet_was_closed(visit, big_station):
    station, children = big_station
    for child in children[:3]:
        station.walk_script(child, DEAD_LEFT)
    station.close()
    visit.stations.remove(station)
    again = Station.open(visit.folder / "A.store", PASSPHRASE, clock=visit.clock)
    visit.stations.append(again)
    for child in children[3:5]:
        again.walk_script(child, DEAD_LEFT)
    assert "left" in again.ready.asked


@pytest.fixture
def threshold_visit(make_visit):
    """A visit under a rule that goes from a missed screening straight to the threshold test."""
    return make_visit(protocol=replace(load_protocol("california-2951")))


def test_threshold_lines_of_a_script_end_in_a_finished_test(threshold_visit):
    visit = threshold_visit
    station = visit.tablet("A")
    assert station.walk_script(station.find("S-1"), "-+++++/-+++++").status is Status.THRESHOLD
    lines = [
        '{"do": "threshold", "child": "S-1", "ear": "right", "hz": 1000, "steps": "30- 50+ 40+ 30- 35+ 25- 30- 35+"}',
        '{"do": "threshold", "child": "S-1", "ear": "right", "hz": 2000, "steps": "30+ 20+ 10+ 0- 5+ -5- 0- 5+"}',
        '{"do": "absent", "child": "S-2"}',
    ]
    Player(station, visit.clock).play(lines)
    (test,) = station.standing(station.find("S-1")).thresholds
    assert [(t.ear, t.hz, t.threshold_db_hl) for t in test.thresholds] == [
        ("right", 1000, 35),
        ("right", 2000, 5),
    ]
    assert test.finished_at
    assert len(test.steps) == 16
    before = len(station.ledger.register)
    with pytest.raises(LineRefused, match="do not reach a threshold"):
        Player(station, visit.clock).play([lines[0].replace(' 35+"', '"')])
    assert len(station.ledger.register) == before


def test_a_threshold_test_by_taps_is_guided_undone_and_resumed(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.begin_threshold_test(child)
    with pytest.raises(Refused, match="under way"):
        station.begin_threshold_test(child)
    hand = station.thresholds.current
    assert (hand.search.ear, hand.search.hz, hand.search.level) == ("right", 1000, 30)
    for heard in (True, True, False):
        hand = station.thresholds.answer(heard)
    assert hand.search.level == 15
    assert station.thresholds.undo().search.level == 10
    station.close()
    visit.stations.remove(station)
    again = Station.open(visit.folder / "A.store", PASSPHRASE, clock=visit.clock)
    visit.stations.append(again)
    assert again.thresholds.current.given == 2
    heard_from = {"right": 15, "left": 40}
    hand = again.thresholds.current
    taps = 0
    while hand.search is not None:
        hand = again.thresholds.answer(hand.search.level >= heard_from[hand.search.ear])
        taps += 1
        assert taps < 400
    again.thresholds.finish()
    assert again.thresholds.current is None
    (test,) = again.standing(child).thresholds
    assert {(t.ear, t.threshold_db_hl) for t in test.thresholds} == {("right", 15), ("left", 40)}
