"""Any tablets, any order, any decisions: one result, the sum holds, nothing changes by itself, and every decision can
be taken back (invariants 3 to 5)."""

from __future__ import annotations

from contextlib import suppress

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldapp.services.desk import Desk
from shared.errors import Refused
from shared.records.entries import Reason
from shared.records.standing import Person
from sync.doubts import DoubtKind
from tests.facts import FAIL, PASSPHRASE
from tests.services.test_hard_days import PASS, recounted

#: Children of the list, written as they are, otherwise, or much like it; twins; one on no list.
ADDED = [
    *(("Ada", "Alder", "2018-03-14"), ("Adah", "Alder", "2018-03-14"), ("Alda", "Alder", "2018-03-14")),
    *(("Ben", "Birch", "2018-11-02"), ("Birch", "Ben", "2018-02-11"), ("Benita", "Birch", "2018-11-02")),
    *(
        ("Inés", "Castaño", "2017-05-21"),
        ("Ines", "Castano Ruiz", "2017-12-05"),
        ("Dora", "Dogwood", "2018-06-01"),
    ),
]
LISTED = st.sampled_from(["S-1", "S-2", "S-4"])
ANSWERS = st.sampled_from([PASS, FAIL])


def works(data, station):
    """A tablet does what it is told; what the rules refuse is not done."""
    for _ in range(data.draw(st.integers(0, 3))):
        with suppress(Refused):
            match data.draw(st.sampled_from(["screen", "add", "reason"])):
                case "add":
                    given_name, family, born = data.draw(st.sampled_from(ADDED))
                    born = data.draw(st.sampled_from([born, born, "", "2018-01-01"]))
                    child = station.add_child(Person(given_name, family, born, class_name="3B", added=True))
                    if data.draw(st.booleans()):
                        station.walk_script(child, data.draw(ANSWERS))
                case "screen":
                    station.walk_script(station.find(data.draw(LISTED)), data.draw(ANSWERS))
                case _:
                    station.not_tested(station.find(data.draw(LISTED)), data.draw(st.sampled_from(Reason)))


def shown(desk):
    return sorted(map(repr, desk.standings())), sorted(doubt.id for doubt in desk.doubts())


def adds_up(desk):
    told = desk.summary()
    assert told.listed + told.added - told.joined == told.children == sum(told.statuses.values())
    if DoubtKind.CONTRADICTION not in [doubt.kind for doubt in desk.doubts()]:  # the recount knows none
        assert recounted(desk.ledger.register.entries()) == (told.listed, told.added, told.children)


@given(data=st.data())
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_gathering(make_visit, data):
    visit = make_visit()
    stations = [visit.tablet(name) for name in "ABC"]
    for station in stations:
        works(data, station)
    a, b, c = (visit.give_back(station) for station in stations)
    visit.desk.close()
    book = visit.folder / "visit.book"
    prepared = book.read_bytes()
    found = []
    for order in ((a, b, c), (c, b, a), (b, a, b, c, a)):
        visit.desk.close()
        book.write_bytes(prepared)
        visit.desk = Desk.open(book, PASSPHRASE, clock=visit.clock)
        for file in order:
            visit.desk.gather([file])
        found.append(shown(visit.desk))
    assert found[0] == found[1] == found[2]
    adds_up(visit.desk)
    made = []
    for _ in range(data.draw(st.integers(0, 5))):
        questions = [*visit.desk.doubts(), *visit.desk.joins()]
        if made and data.draw(st.booleans()):
            visit.desk.unsettle(made.pop())
        elif questions:
            doubt = data.draw(st.sampled_from(questions))
            visit.desk.settle(doubt.id, data.draw(st.sampled_from(sorted(doubt.decisions))))
            made.append(doubt.id)
        adds_up(visit.desk)
        known, before = len(visit.desk.ledger.register), shown(visit.desk)
        visit.desk.gather([c, a])
        assert (len(visit.desk.ledger.register), shown(visit.desk)) == (known, before)
    while made:
        visit.desk.unsettle(made.pop())
    assert shown(visit.desk) == found[0]
