"""A talk in the middle of the day: what became of a child elsewhere is known on every tablet that has the child."""

from __future__ import annotations

from fieldapp.roster import RosterRow
from shared.records.entries import Reason
from shared.records.standing import Person, Status
from tests.facts import FAIL


def child_of(station, number: str):
    return station.standing(station.find(number))


def test_a_child_given_to_another_class_is_not_left_behind_on_the_tablet_that_had_it(visit, room):
    a, c = visit.tablet("A", classes=["3B"]), visit.tablet("C", classes=["4A"])
    with room(visit.desk) as open_room:
        visit.desk.office.correct(visit.child("S-1"), {"class_name": "4A"})
        open_room.send(a, c)
        assert child_of(a, "S-1").person.class_name == child_of(c, "S-1").person.class_name == "4A"
        c.walk_script(c.find("S-1"), "++++++")
        open_room.send(c)
        (sent,) = open_room.send(a)
    assert sent.told > 0
    assert child_of(a, "S-1").status is Status.PASSED
    # Of children that it never had it still learns nothing.
    assert a.find("S-3") is None


def test_a_child_that_has_left_is_no_longer_called_for(visit, room):
    a = visit.tablet("A", classes=["3B"])
    rows = [
        RosterRow(line, standing.person)
        for line, standing in enumerate(visit.desk.standings(), 2)
        if standing.person.student_number != "S-1"
    ]
    with room(visit.desk) as open_room:
        visit.desk.office.update_roster(rows)
        open_room.send(a)
    left = a.find("S-1")
    assert left is None or a.standing(left).person.left


def test_what_was_said_of_a_child_elsewhere_is_known_here(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    a.not_tested(a.find("S-2"), Reason.ABSENT)
    added = a.add_child(Person("Dora", "Dogwood", "2018-06-01", grade="3", class_name="3B"))
    with room(visit.desk) as open_room:
        open_room.send(a)
        visit.desk.office.correct(visit.child("S-1"), {"family": "Elder"})
        open_room.send(b)
        assert child_of(b, "S-1").person.family == "Elder"
        assert child_of(b, "S-2").status is Status.ABSENT
        assert b.standing(added).person.given == "Dora"
        # The absent child comes after all, to B; and A, which sent it away, knows.
        b.walk_script(b.find("S-2"), FAIL)
        open_room.send(b)
        open_room.send(a)
    assert child_of(a, "S-2").status is child_of(b, "S-2").status is Status.RESCREEN


def test_two_records_that_the_lead_has_joined_are_one_child_on_every_tablet(visit, room):
    a, b = visit.tablet("A", classes=["3B"]), visit.tablet("B", classes=["4A"])
    # Ada of 3B turns up in 4A, whose tablet does not have her.
    added = b.add_child(Person("Ada", "Alder", "2018-03-14", grade="4", class_name="4A"))
    b.walk_script(added, "++++++")
    with room(visit.desk) as open_room:
        open_room.send(b)
        doubt = next(each for each in visit.desk.doubts() if added in each.subjects)
        visit.desk.settle(doubt.id, "one")
        open_room.send(a)
        open_room.send(b)
    assert child_of(a, "S-1").status is Status.PASSED
    assert {added, visit.child("S-1")} <= set(child_of(b, "S-1").records)


def test_news_of_the_child_in_hand_leaves_the_walk_where_it_is(visit, room):
    """While Ada is being walked the lead corrects her, joins her with a record from another tablet, and marks her as
    one who has left; the walk goes on tone by tone and its result counts."""
    a, b = visit.tablet("A", classes=["3B"]), visit.tablet("B", classes=["4A"])
    added = b.add_child(Person("Ada", "Alder", "2018-03-14", grade="4", class_name="4A"))
    b.walk_script(added, FAIL)
    with room(visit.desk) as open_room:
        open_room.send(b)
        child = a.find("S-1")
        a.begin(child)
        a.answer(True)
        a.answer(True)
        doubt = next(each for each in visit.desk.doubts() if added in each.subjects)
        visit.desk.settle(doubt.id, "one")
        visit.desk.office.correct(visit.child("S-1"), {"family": "Elder", "class_name": "4A"})
        others = [s.person for s in visit.desk.standings() if s.person.given != "Ada"]
        visit.desk.office.update_roster([RosterRow(line, person) for line, person in enumerate(others, 2)])
        (sent,) = open_room.send(a)
        assert sent.told > 0
        assert a.current is not None and a.current[0] == child
        for _ in range(4):
            a.answer(True)
        standing = a.finish()
        assert standing.person.family == "Elder" and added in standing.records
        # Missed on the one tablet, passed on the other: the more cautious, and a doubt for the lead.
        assert standing.status is Status.RESCREEN and standing.disagreeing
        open_room.send(a)
        open_room.send(b)
    lead = visit.desk.ledger.register.standing(child)
    assert lead.status is b.standing(added).status is Status.RESCREEN
    assert any(added in each.subjects or child in each.subjects for each in visit.desk.doubts())
