"""The tablet's services: readiness before any child, every tap kept, undo, the rules that refuse.

"No test without readiness" and the level rule are this project's invariant 6 and DESIGN's common practice, no
source; the outcome of a walk is checked against the AAA guideline in ``tests/hearing``.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from fieldapp.services.station import Station
from shared.errors import ForeignFile, Refused, WrongPassphrase
from shared.records.entries import Kind, Reason
from shared.records.standing import Person, Status
from tests.facts import PASSPHRASE


def test_no_child_is_offered_before_the_readiness_check(visit):
    station = visit.tablet("A", ready=False)
    child = station.find("S-1")
    with pytest.raises(Refused, match="Nobody is signed in"):
        station.begin(child)
    station.sign_in("MK")
    with pytest.raises(Refused, match="readiness check has not been done"):
        station.begin(child)


def test_readiness_closes_on_the_next_day_and_for_another_screener(visit):
    station = visit.tablet("A")
    assert station.ready.open
    assert station.ready.level_db_hl == 20
    station.sign_in("JO")
    assert not station.ready.open
    station.sign_in("MK")
    assert station.ready.open
    visit.pass_time(days=1)
    assert "another day" in station.ready.why_closed


def test_a_failed_check_closes_the_station(visit):
    station = visit.tablet("A")
    deaf = {"right": {"1000": 40, "2000": 5, "4000": 0}, "left": {"1000": 10, "2000": 5, "4000": 5}}
    facts = {**next(iter([e.body for e in station.ledger.register.entries(Kind.READINESS_CHECKED)]))}
    known = ("audiometer", "earphones", "calibrated", "listening")
    result = station.check_readiness({**{name: facts[name] for name in known}, "own_thresholds": deaf})
    assert not result.passed
    assert not station.ready.open


def test_another_room_or_equipment_closes_the_station_until_a_new_check(visit):
    station = visit.tablet("A")
    assert not station.change_place(room="the gym").open
    assert "another room" in station.ready.why_closed
    visit.ready_again(station)
    assert station.ready.open
    assert "other earphones" in station.change_place(earphones="EP-09").why_closed


def test_swapped_earphones_are_refused_with_the_reason(visit):
    station = visit.tablet("A")
    body = station.ledger.register.newest_of(station.ledger.device, Kind.READINESS_CHECKED).body
    swapped = station.check_readiness({**body, "earphones": "EP-09"})
    assert not swapped.passed
    assert any("must not be exchanged" in reason for reason in swapped.reasons)
    assert not station.ready.open


def test_a_passing_child_is_six_answers_and_each_is_kept_at_once(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.begin(child)
    for done in range(6):
        before = station.ledger.counter
        walk = station.answer(True)
        assert station.ledger.counter == before + 1
        assert len(walk.answers) == done + 1
    assert station.finish().status is Status.PASSED
    assert station.current is None


def test_a_tablet_opened_after_a_crash_is_where_it_was(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.begin(child)
    station.answer(True)
    station.answer(False)
    station.close()
    visit.stations.remove(station)
    again = Station.open(visit.folder / "A.store", PASSPHRASE, clock=visit.clock)
    visit.stations.append(again)
    assert again.screener == "MK"
    assert again.ready.open
    current, walk = again.current
    assert current == child
    assert [answer.heard for answer in walk.answers] == [True, False]
    assert again.answer(True).answers[-1].heard


def test_undo_withdraws_answers_and_the_reseat_one_by_one(visit):
    station = visit.tablet("A")
    station.begin(station.find("S-1"))
    for heard in (True, True, False, True, True, True):
        station.answer(heard)
    station.reseat()
    walk = station.undo()
    assert not walk.reseated
    assert len(walk.answers) == 6
    for left in (5, 4, 3, 2, 1, 0, 0):
        assert len(station.undo().answers) == left
    walk = station.answer(False)
    assert [answer.heard for answer in walk.answers] == [False]


def test_a_child_with_a_result_is_not_walked_again_without_a_reason(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    assert station.walk_script(child, "++++++").status is Status.PASSED
    with pytest.raises(Refused, match="has its result already"):
        station.begin(child)
    assert (
        station.walk_script(child, "--++++/--++++", again="the left earphone had failed").status
        is Status.RESCREEN
    )


def test_a_rescreen_before_its_window_is_refused_and_on_its_first_day_taken(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    standing = station.walk_script(child, "-+++++/-+++++")
    assert standing.status is Status.RESCREEN
    with pytest.raises(Refused, match="not due before 2026-10-28"):
        station.walk_script(child, "++++++")
    visit.pass_time(days=14)
    visit.ready_again(station)
    assert station.walk_script(child, "++++++").status is Status.PASSED


@pytest.mark.parametrize(
    ("answers", "reason"),
    [
        ("+++++", "not whole"),
        ("+++++++", "complete"),
        ("++x+++", "neither"),
        ("+++++-/++++++/", "complete"),
        ("", "not whole"),
    ],
)
def test_a_script_walk_that_the_rules_refuse_leaves_nothing_behind(visit, answers, reason):
    station = visit.tablet("A")
    before = len(station.ledger.register)
    with pytest.raises(Refused, match=reason):
        station.walk_script(station.find("S-1"), answers)
    assert len(station.ledger.register) == before


def test_stopping_a_child_records_the_reason_or_nothing(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.begin(child)
    station.answer(True)
    assert station.stop().status is Status.NOT_SEEN
    station.begin(child)
    assert (
        station.stop(Reason.COULD_NOT_TEST, "would not keep the earphones on").status is Status.COULD_NOT_TEST
    )
    assert station.take_back(child).status is Status.NOT_SEEN


@pytest.mark.parametrize("first", list(Reason))
@pytest.mark.parametrize("second", list(Reason))
def test_the_newest_reason_replaces_the_one_before_and_can_be_taken_back(visit, first, second):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.not_tested(child, first)
    assert station.not_tested(child, second).status == second
    assert station.take_back(child).status is Status.NOT_SEEN
    with pytest.raises(Refused, match="not recorded on this tablet"):
        station.take_back(child)


def test_a_child_with_a_result_is_not_absent(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.walk_script(child, "++++++")
    with pytest.raises(Refused, match="has its result already"):
        station.not_tested(child, Reason.ABSENT)
    assert station.not_tested(child, Reason.EAR_PROBLEM).status is Status.EAR_PROBLEM


def test_no_earphones_on_the_day_an_ear_problem_was_noted(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.not_tested(child, Reason.EAR_PROBLEM, "sore")
    with pytest.raises(Refused, match="no earphones"):
        station.begin(child)
    with pytest.raises(Refused, match="no earphones"):
        station.walk_script(child, "++++++", again="a try")
    visit.pass_time(days=14)
    visit.ready_again(station)
    assert station.walk_script(child, "++++++").status is Status.PASSED


def test_initials_are_one_person_whatever_their_case(visit):
    station = visit.tablet("A")
    station.sign_in("mk")
    assert station.screener == "MK"
    assert station.ready.open


def test_search_needs_two_letters_and_ignores_accents(visit):
    station = visit.tablet("A")
    assert len(station.rows(search="c")) == 4
    assert [s.person.given for s in station.rows(search="ca")] == ["Inés"]
    assert [s.person.given for s in station.rows(search="INES castano")] == ["Inés"]
    assert [s.person.given for s in station.rows("3B")] == ["Ada", "Ben"]
    station.walk_script(station.find("S-1"), "++++++")
    assert [s.person.given for s in station.rows("3B")] == ["Ben", "Ada"]
    assert [(c.name, c.tally.seen, c.tally.total) for c in station.classes()] == [("3B", 1, 2), ("4A", 0, 2)]


def test_an_added_child_warns_of_its_look_alike(visit):
    station = visit.tablet("A")
    twin = Person("Ada", "Aldr", "2018-03-14", class_name="3B")
    assert station.lookalikes(twin)[0].b == station.find("S-1") or station.lookalikes(twin)[
        0
    ].a == station.find("S-1")
    added = station.add_child(twin)
    assert station.standing(added).person.added
    with pytest.raises(Refused, match="both needed"):
        station.add_child(Person("", "Oak"))
    with pytest.raises(Refused, match="on the list"):
        station.add_child(Person("Zed", "Oak", student_number="S-2"))


def test_a_refused_write_leaves_the_station_as_it_was(visit, monkeypatch):
    from shared.errors import WriteRefused

    station = visit.tablet("A")
    station.begin(station.find("S-1"))
    counter = station.ledger.counter

    def full(*_):
        raise WriteRefused("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr(type(station.ledger), "_store", full)
        with pytest.raises(WriteRefused):
            station.answer(True)
    assert station.ledger.counter == counter
    assert station.current[1].answers == ()
    assert len(station.answer(True).answers) == 1
    assert station.ledger.counter == counter + 1


def test_progress_counts_and_estimates(visit):
    station = visit.tablet("A")
    assert station.progress().per_hour is None
    for number in ("S-1", "S-2", "S-3"):
        visit.pass_time(minutes=2)
        station.walk_script(station.find(number), "++++++")
    progress = station.progress()
    assert (progress.tally.screened, progress.tally.not_seen, progress.tally.total) == (3, 1, 4)
    assert progress.per_hour == pytest.approx(30)
    assert (progress.finish_at - visit.clock.now()).total_seconds() == pytest.approx(120)


def test_wrong_passphrase_and_the_wrong_kind_of_store_are_told_apart(visit):
    visit.tablet("A").close()
    visit.stations.clear()
    with pytest.raises(WrongPassphrase):
        Station.open(visit.folder / "A.store", "not the one at all")
    visit.desk.close()
    with pytest.raises(ForeignFile, match="visit book"):
        Station.open(visit.folder / "visit.book", PASSPHRASE)


@pytest.mark.parametrize("sign", ["drainage", "tenderness", "odour", "pain", "foreign-body", "blocked"])
def test_a_sign_that_stops_is_an_ear_problem_and_named(visit, sign):
    """Signs: the web course of the Minnesota Department of Health (read) and ASHA 1997 (from memory)."""
    station = visit.tablet("A")
    child = station.find("S-1")
    allowed, standing = station.look(child, [sign, "structure"], ["left"], "since Monday")
    assert not allowed and standing.status is Status.EAR_PROBLEM
    assert standing.signs == (sign, "structure") and standing.ears == ("left",)
    assert standing.note == "since Monday" and "Not tested: " in standing.why


def test_a_harmless_sign_is_noted_and_the_child_tested(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    allowed, standing = station.look(child, ["structure"])
    assert allowed and standing.status is Status.NOT_SEEN
    assert standing.observations == ("outer ear formed unusually",)
    station.begin(child)


def test_an_ear_problem_seen_during_a_walk_breaks_it_off(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.begin(child)
    station.answer(True)
    allowed, standing = station.look(child, ["pain"], ["right"])
    assert not allowed and station.current is None
    assert standing.status is Status.EAR_PROBLEM and standing.signs == ("pain",)


@pytest.mark.parametrize("signs", [[], ["sneezing"]])
def test_a_sign_that_nobody_knows_is_refused(visit, signs):
    station = visit.tablet("A")
    with pytest.raises(Refused, match="no such sign"):
        station.look(station.find("S-1"), signs)


def test_a_reason_under_a_result_can_be_taken_back(visit):
    station = visit.tablet("A")
    child = station.find("S-1")
    station.not_tested(child, Reason.DECLINED)
    station.begin(child)
    for _ in range(6):
        station.answer(True)
    assert station.finish().disagreeing
    assert station.reasons_given(child) == {Reason.DECLINED}
    assert not station.take_back(child).disagreeing
    assert station.reasons_given(child) == set()


def test_a_child_at_hand_at_midnight_is_finished_and_then_the_day_is_another(visit):
    visit.clock.set(datetime(2026, 10, 14, 23, 50, tzinfo=timezone(timedelta(hours=-5))))
    station = visit.tablet("A")
    child = station.find("S-1")
    station.begin(child)
    for _count in range(6):
        visit.pass_time(minutes=3)  # midnight falls between two answers
        station.answer(True)
    assert visit.clock.now().date().isoformat() == "2026-10-15"
    assert station.finish().status is Status.PASSED
    with pytest.raises(Refused, match="another day"):
        station.begin(station.find("S-2"))


def test_the_pace_does_not_stumble_over_the_end_of_daylight_saving(visit):
    """At 2:00 the clock goes back to 1:00; the minutes between two children stay what they were."""
    summer, winter = (timezone(timedelta(hours=hours)) for hours in (-5, -6))
    visit.clock.set(datetime(2026, 11, 1, 1, 50, tzinfo=summer))
    station = visit.tablet("A")
    for number, moment in (
        ("S-1", datetime(2026, 11, 1, 1, 56, tzinfo=summer)),
        ("S-2", datetime(2026, 11, 1, 1, 2, tzinfo=winter)),
        ("S-3", datetime(2026, 11, 1, 1, 8, tzinfo=winter)),
    ):
        visit.clock.set(moment)
        station.walk_script(station.find(number), "++++++")
    progress = station.progress()
    assert progress.per_hour == pytest.approx(10)
    assert progress.finish_at - visit.clock.now() == timedelta(minutes=6)
    assert station.ready.open


def test_on_the_second_day_absent_children_wait_first_and_results_stand(visit):
    station = visit.tablet("A")
    passed, absent = station.find("S-1"), station.find("S-2")
    station.walk_script(passed, "++++++")
    station.not_tested(absent, Reason.ABSENT)
    assert station.rows("3B")[0].child in (passed, absent) and station.progress().left == 2
    visit.pass_time(days=1)
    visit.ready_again(station)
    assert station.rows("3B")[0].child == absent and station.progress().left == 3
    assert station.begin(absent) is not None


def test_the_open_list_is_remembered_in_the_store(visit):
    station = visit.tablet("A")
    assert station.place == ("", "")
    station.remember("next_child", "4A")
    station.remember("today")
    station.close()
    visit.stations.remove(station)
    again = Station.open(visit.folder / "A.store", PASSPHRASE, clock=visit.clock)
    visit.stations.append(again)
    assert again.place == ("today", "4A")


def test_nobody_else_signs_in_during_a_threshold_test(visit):
    station = visit.tablet("A")
    station.begin_threshold_test(station.find("S-1"))
    with pytest.raises(Refused, match="being screened"):
        station.sign_in("JO")
    with pytest.raises(Refused, match="threshold test is under way"):
        station.begin(station.find("S-2"))
