"""Closing the visit: tablets that were not used or are lost, children without a result, and the way back."""

from __future__ import annotations

import pytest

from fieldapp.services.closing import Aside
from shared.errors import Refused


def test_an_unused_tablet_holds_nothing_up_and_the_word_can_be_taken_back(visit):
    visit.tablet("A", ready=False)
    closing = visit.desk.closing
    assert closing.unfinished() == ["Tablet A has not given back."]
    closing.set_aside("A", Aside.UNUSED)
    assert closing.unfinished() == []
    assert [state.aside for state in closing.tablets()] == [Aside.UNUSED]
    with pytest.raises(Refused, match="cannot be said of tablet A"):
        closing.set_aside("A", Aside.LOST)
    closing.expect_again("A")
    assert closing.unfinished() == ["Tablet A has not given back."]
    with pytest.raises(Refused, match="not set aside"):
        closing.expect_again("A")
    with pytest.raises(Refused, match="No handout was made for a tablet Z"):
        closing.set_aside("Z", Aside.LOST)


def test_the_return_of_a_tablet_called_lost_is_taken_in_and_the_mark_falls(visit):
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), "++++++")
    closing = visit.desk.closing
    closing.set_aside("A", Aside.LOST)
    closing.close()
    gathered = visit.desk.gather([visit.give_back(station)])
    assert gathered.returns[0].new > 6
    (state,) = closing.tablets()
    assert state.gave_back and state.aside is None and state.settled
    assert not closing.closed  # a screening came after


def test_a_tablet_handed_out_anew_is_expected_again(visit):
    visit.tablet("A", ready=False)
    closing = visit.desk.closing
    closing.set_aside("A", Aside.UNUSED)
    visit.pass_time(hours=1)
    visit.desk.hand_out("A", visit.folder / "again.handout", "seven quiet bells ring")
    assert closing.unfinished() == ["Tablet A has not given back."]


def test_a_tablet_that_has_given_back_was_used(visit):
    station = visit.tablet("A")
    visit.desk.gather([visit.give_back(station)])
    with pytest.raises(Refused, match="cannot be said"):
        visit.desk.closing.set_aside("A", Aside.UNUSED)


def test_children_without_a_result_are_listed_and_hold_nothing_up(visit):
    from shared.records.entries import Reason

    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), "++++++")
    station.not_tested(station.find("S-2"), Reason.ABSENT)
    visit.desk.gather([visit.give_back(station)])
    closing = visit.desk.closing
    assert [each.person.student_number for each in closing.without_result()] == ["S-2", "S-4", "S-3"]
    closing.close()
    assert closing.closed
    closing.reopen()
    assert not closing.closed
    with pytest.raises(Refused, match="not closed"):
        closing.reopen()
