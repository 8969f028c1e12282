"""Doubts without a window, on a real visit book."""

from __future__ import annotations

from dataclasses import replace

from fieldapp.screens.child.presenter import ChildPresenter
from fieldapp.screens.doubts.presenter import DoubtsPresenter, Side, results_marked, told_apart
from shared.records.entries import Reason
from shared.records.standing import Person


def test_what_waits_for_a_decision_is_on_the_childs_page_and_opens_there(lead):
    lead.day(("Amara", "++++++"))
    with lead.visit.tablet() as station:
        station.add_child(Person("Toby", "Wetherall", "2017-11-20", "", "3", "3B", added=True))
    lead.gather()
    page = lead.show(ChildPresenter, child=lead.child("Tobias"))
    ((doubt, question),) = page.view().doubts
    assert question == "Is this one child or two?"
    page.decide()
    assert lead.went[-1] == ("doubts", {"doubt": doubt})
    doubts = lead.show(DoubtsPresenter, doubt=doubt)
    assert doubts.view().title == "Doubt 1 of 1"
    doubts.decide("two")
    assert doubts.view().decided == "Decided: Two children (Wetherall, Toby)"
    decisions = dict(page.view().sections)["Decisions"]
    assert "another child than Wetherall, Toby" in decisions[0]


def test_what_the_evidence_joined_can_be_looked_at_and_taken_apart(lead):
    lead.day(("Amara", "++++++"))
    with lead.visit.tablet() as station:
        tobias = next(s.person for s in station.standings() if s.person.given == "Tobias")
        station.add_child(replace(tobias, student_number="", added=True))
    lead.gather()
    page = lead.show(ChildPresenter, child=lead.child("Tobias"))
    ((join, question),) = page.view().doubts
    assert question == "Two records were taken for one child. Look again?"
    doubts = lead.show(DoubtsPresenter)
    assert doubts.view().empty
    assert doubts.view().decisions == (("joins", "Look at what was joined: 1"),)
    doubts.decide("joins")
    view = doubts.view()
    assert view.title == "Joined 1 of 1"
    assert view.decisions == (
        ("one", "One child: leave them joined"),
        ("two", "Two children: take them apart"),
    )
    assert [[label for label, _said in side.lines] for side in view.sides] == [
        [
            "Name",
            "Born",
            "Class",
            "Number",
        ]  # joined records have one result, which is told on the child's page
    ] * 2
    before = len(lead.desk.standings())
    doubts.decide("two")
    assert len(lead.desk.standings()) == before + 1
    assert doubts.view().question == "Nothing is joined by the evidence alone"
    doubts.undo()
    assert len(lead.desk.standings()) == before
    assert lead.show(DoubtsPresenter, doubt=join).view().title == "Joined 1 of 1"


def test_the_number_of_a_doubt_counts_those_decided(lead):
    with lead.visit.tablet() as station:
        for given, reason in (("Amara", Reason.UNDER_CARE), ("Tobias", Reason.DECLINED)):
            child = next(s.child for s in station.standings() if s.person.given == given)
            station.walk_script(child, "++++++")
            station.not_tested(child, reason)
    lead.gather()
    doubts = lead.show(DoubtsPresenter)
    assert (doubts.view().title, doubts.view().about) == ("Doubt 1 of 2", "Only a person can decide this")
    doubts.decide("passed")
    assert (doubts.view().title, doubts.view().about) == ("Doubt 2 of 2", "decided just now: 1")
    doubts.undo()
    assert doubts.view().title == "Doubt 1 of 2"


def test_a_date_that_is_not_known_differs_as_a_whole():
    none = {"unknown"}
    assert told_apart("unknown", "9 Jan 2018", none) == (("unknown", True),)
    assert told_apart("9 Jan 2018", "unknown", none) == (("9 Jan 2018", True),)
    assert told_apart("unknown", "unknown", none) == (("unknown", False),)
    assert told_apart("A-101", "A-102", none) == (("A-10", False), ("1", True))


def test_results_are_marked_where_they_are_not_all_the_same():
    heard, missed = (("Result", (("Heard every tone.", False),)), ("Result", (("No response", False),)))
    same = results_marked([Side("A", (heard,)), Side("C", (heard,))])
    assert same == (Side("A", (heard,)), Side("C", (heard,)))
    by = ("By", (("MK", False),))
    other = results_marked([Side("A", (heard, by)), Side("C", (missed, by))])
    assert [side.lines[0][1] for side in other] == [(("Heard every tone.", True),), (("No response", True),)]
    assert all(side.lines[1] == by for side in other)
