"""Adding a child without a window, on a station in memory."""

from __future__ import annotations

from fieldapp.screens.add_child.presenter import AddChildPresenter


def test_a_look_alike_is_offered_before_adding(room):
    room.station.make_ready()
    adding = AddChildPresenter(room.session)
    adding.enter(typed="wetherall")
    assert adding.alike == []
    adding.set(given="Toby")
    assert [alike.name for alike in adding.alike] == ["Wetherell, Tobias"]
    adding.choose("2@book")
    assert room.station.current[0] == "2@book"


def test_an_added_child_is_screened_at_once(room):
    room.station.make_ready()
    adding = AddChildPresenter(room.session)
    adding.enter()
    adding.set(given="Nia", family="Ostrander", born="2018-02-03", class_name="3B")
    adding.add()
    standing = room.station.standing(room.station.current[0])
    assert standing.person.added and standing.person.grade == "3"
