"""The follow-up: what is owed next and by when, the steps, closing a case and taking that back."""

from __future__ import annotations

from datetime import date

import pytest

from fieldapp.services.followup import Owed, case_of
from shared.errors import Refused
from shared.hearing.followup import Timing
from shared.records.standing import Person, Standing, Status
from tests.facts import FAIL


def missed(visit):
    """The desk, and a child who missed a tone and has been gathered."""
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), FAIL)
    visit.desk.gather([visit.give_back(station)])
    return visit.desk, visit.child("S-1")


def test_open_cases_of_one_day_are_in_the_order_of_names_accents_aside(visit):
    station = visit.tablet("A")
    for number in ("S-2", "S-1", "S-4"):
        station.walk_script(station.find(number), FAIL)
    desk = visit.desk
    desk.gather([visit.give_back(station)])
    desk.office.correct(visit.child("S-2"), {"family": "Çelik", "given": "Fionn"})
    desk.office.correct(visit.child("S-1"), {"family": "Çelik", "given": "Fiona"})
    desk.office.correct(visit.child("S-4"), {"family": "Dunmore"})
    names = [case.standing.person.given for case in desk.followup.open_cases()]
    assert names == ["Fiona", "Fionn", "Inés"]


def test_a_case_is_followed_until_it_is_closed(visit):
    desk, child = missed(visit)
    (case,) = desk.followup.open_cases()
    assert (case.owed, case.due, case.timing) == (Owed.RESCREEN, "2026-10-28", Timing.TOO_EARLY)
    visit.pass_time(days=14)
    assert desk.followup.open_cases()[0].timing is Timing.DUE
    visit.pass_time(days=29)
    assert desk.followup.open_cases()[0].overdue
    desk.followup.note_step([child], "moved", note="to another district")
    assert desk.followup.open_cases() == []
    assert desk.ledger.register.standing(child).status is Status.CLOSED
    with pytest.raises(Refused, match="no such step"):
        desk.followup.note_step([child], "cured")
    with pytest.raises(Refused, match="No child is chosen"):
        desk.followup.note_step([], "sent")
    with pytest.raises(Refused, match="reason for closing is missing"):
        desk.followup.note_step([child], "closed")


def test_a_closing_is_taken_back_and_the_case_is_open_again(visit):
    desk, child = missed(visit)
    desk.followup.note_step([child], "sent")
    desk.followup.note_step([child], "declined")
    assert [each.child for each in desk.followup.closed_cases()] == [child]
    desk.followup.take_step_back(child)
    assert desk.ledger.register.standing(child).status is Status.RESCREEN
    assert [step.step for step in desk.ledger.register.standing(child).followups] == ["sent"]
    desk.followup.take_step_back(child)
    with pytest.raises(Refused, match="no step to take back"):
        desk.followup.take_step_back(child)


def test_every_step_of_a_referral_has_its_day_and_is_overdue_after_it(visit):
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), FAIL)
    visit.pass_time(days=20)
    visit.ready_again(station)
    station.walk_script(station.find("S-1"), FAIL)
    desk = visit.desk
    desk.gather([visit.give_back(station)])
    child = visit.child("S-1")
    assert desk.ledger.register.standing(child).status is Status.REFERRED
    for owed, days, step in (
        (Owed.LETTER, 7, "sent"),
        (Owed.REMINDER, 30, "reminded"),
        (Owed.REMINDER, 30, "seen"),
        (Owed.FINDINGS, 14, "findings"),
        (Owed.CLOSING, 7, "no-loss"),
    ):  # the waits are common practice, no source
        visit.pass_time(days=days)
        (case,) = desk.followup.open_cases()
        assert (case.owed, case.due) == (owed, visit.clock.now().date().isoformat())
        assert case.timing is Timing.DUE
        visit.pass_time(days=1)
        assert desk.followup.open_cases()[0].overdue
        desk.followup.note_step([child], step)
    assert desk.followup.open_cases() == []


def test_a_threshold_test_that_has_no_window_is_due_at_once():
    standing = Standing("c", ("c",), Person("Ada", "Alder"), Status.THRESHOLD, "2026-10-14T09:00:00-05:00")
    case = case_of(standing, date(2026, 11, 30))
    assert (case.owed, case.due, case.timing) == (Owed.THRESHOLD, "2026-10-14", Timing.DUE)
