"""Days on which something went wrong: late returns, doubled children, clocks, copies, typing slips. Whatever happened,
no child goes off a cautious list without a person, none counts twice in silence, and no order matters (invariants 3
to 5)."""

from __future__ import annotations

import shutil
from datetime import date

import pytest

from fieldapp.roster import read_roster
from fieldapp.services.closing import Aside
from fieldapp.services.desk import Desk
from fieldapp.services.station import Station
from shared.errors import ForeignFile, WriteRefused
from shared.records.entries import Kind, Reason
from shared.records.standing import Person, Status
from shared.vault.journal import Journal
from sync.doubts import DoubtKind
from tests.facts import FAIL, PASSPHRASE, READY

PASS = "++++++"
ADA_AGAIN = Person("Ada", "Alder", "2018-03-14", grade="3", class_name="3B", added=True)


def status(visit, number="S-1"):
    return visit.desk.ledger.register.standing(visit.child(number)).status


def kinds(visit):
    return [doubt.kind for doubt in visit.desk.doubts()]


# -- decisions, and what nobody had seen when they were made -------------------------------------------


@pytest.fixture
def ruled(visit):
    """S-1 fails on A and passes on B, C has something more to say; the lead has ruled before C came back."""
    a, b, c = visit.tablet("A"), visit.tablet("B"), visit.tablet("C")
    a.walk_script(a.find("S-1"), FAIL)
    b.walk_script(b.find("S-1"), PASS)

    def later(reason):
        c.not_tested(c.find("S-1"), reason)
        visit.desk.gather([visit.give_back(a), visit.give_back(b)])
        (doubt,) = visit.desk.doubts()
        visit.desk.settle(doubt.id, "passed")
        assert status(visit) is Status.PASSED
        visit.desk.gather([visit.give_back(c)])

    return later


@pytest.mark.parametrize(
    ("reason", "stands"), [(Reason.EAR_PROBLEM, Status.EAR_PROBLEM), (Reason.DECLINED, Status.RESCREEN)]
)
def test_a_ruling_does_not_cover_what_came_after_it(visit, ruled, reason, stands):
    ruled(reason)
    assert status(visit) is stands
    assert kinds(visit) == [DoubtKind.RESULTS_DISAGREE]


def test_an_absence_noted_elsewhere_leaves_a_ruling_alone(visit, ruled):
    ruled(Reason.ABSENT)
    assert status(visit) is Status.PASSED


@pytest.fixture
def doubled(visit):
    """Ada fails on A, and is added on B, where she passes: joined by the evidence."""
    a, b = visit.tablet("A"), visit.tablet("B")
    a.walk_script(a.find("S-1"), FAIL)
    added = b.add_child(ADA_AGAIN)
    b.walk_script(added, PASS)
    visit.desk.gather([visit.give_back(a), visit.give_back(b)])
    (join,) = visit.desk.joins()
    return join


def test_a_ruling_on_two_records_says_nothing_of_one_of_them(visit, doubled):
    (doubt,) = visit.desk.doubts()
    visit.desk.settle(doubt.id, "passed")
    visit.desk.settle(doubled.id, "two")
    assert status(visit) is Status.RESCREEN
    visit.desk.unsettle(doubled.id)
    assert status(visit) is Status.PASSED  # one child again, and ruled as before


def test_joined_taken_apart_and_joined_again_is_as_it_was(visit, doubled):
    before = sorted(map(repr, visit.desk.standings())), kinds(visit)
    visit.desk.settle(doubled.id, "two")
    assert len(visit.desk.standings()) == 5
    visit.desk.gather([])
    assert len(visit.desk.standings()) == 5
    visit.desk.unsettle(doubled.id)
    assert (sorted(map(repr, visit.desk.standings())), kinds(visit)) == before


def test_a_case_that_was_closed_opens_where_another_record_brings_a_result(visit):
    a, b = visit.tablet("A"), visit.tablet("B")
    b.walk_script(b.add_child(ADA_AGAIN), FAIL)
    a.walk_script(a.find("S-1"), PASS)
    visit.desk.gather([visit.give_back(a)])
    visit.desk.followup.note_step([visit.child("S-1")], "moved")
    assert status(visit) is Status.CLOSED
    visit.desk.gather([visit.give_back(b)])
    assert status(visit) is Status.RESCREEN
    assert DoubtKind.RESULTS_DISAGREE in kinds(visit)


def test_a_return_gathered_after_the_closing_opens_the_visit_whenever_it_was_written(visit):
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), FAIL)
    visit.pass_time(hours=5)
    closing = visit.desk.closing
    closing.set_aside("A", Aside.LOST)
    closing.close()
    assert closing.closed
    visit.desk.gather([visit.give_back(station)])
    assert not closing.closed
    closing.close()
    visit.desk.gather([visit.give_back(station, "again")])  # nothing new
    assert closing.closed


@pytest.mark.parametrize(("decision", "children"), [("one", 4), ("two", 5)])
def test_a_contradiction_is_over_once_a_person_has_decided_it_and_can_be_taken_back(
    visit, decision, children
):
    a, b = visit.tablet("A"), visit.tablet("B")
    first = a.add_child(ADA_AGAIN)
    a.walk_script(first, PASS)
    second = b.add_child(Person("Adah", "Alder", "2018-03-14", grade="3", class_name="3B", added=True))
    b.walk_script(second, FAIL)
    visit.desk.gather([visit.give_back(a), visit.give_back(b)])
    ada = visit.child("S-1")
    for kind, records in (
        (Kind.SAME_CHILD, [ada, first]),
        (Kind.SAME_CHILD, [first, second]),
        (Kind.DIFFERENT_CHILD, [ada, second]),
    ):
        visit.desk.ledger.write((kind, {"records": records}))
    (doubt,) = visit.desk.doubts()
    assert (doubt.kind, len(visit.desk.standings())) == (DoubtKind.CONTRADICTION, 5)
    before = sorted(map(repr, visit.desk.standings()))
    visit.pass_time(minutes=1)
    visit.desk.settle(doubt.id, decision)
    assert (len(visit.desk.standings()), DoubtKind.CONTRADICTION in kinds(visit)) == (children, False)
    if decision == "one":
        assert status(visit) is Status.RESCREEN  # until somebody rules
    visit.desk.unsettle(doubt.id)
    assert (sorted(map(repr, visit.desk.standings())), kinds(visit)) == (before, [DoubtKind.CONTRADICTION])


# -- an ear problem and the days of clocks -------------------------------------------------------------


@pytest.mark.parametrize("days", [1, 366])
def test_no_clock_takes_a_child_off_the_medical_list(visit, days):
    a, b = visit.tablet("A"), visit.tablet("B", ready=False)
    a.not_tested(a.find("S-1"), Reason.EAR_PROBLEM)
    visit.pass_time(days=days)
    b.sign_in("MK")
    assert b.check_readiness(READY | {"calibrated": b.ledger.clock.now().date().isoformat()}).passed
    b.walk_script(b.find("S-1"), PASS)
    visit.desk.gather([visit.give_back(a), visit.give_back(b)])
    assert status(visit) is Status.EAR_PROBLEM
    assert DoubtKind.RESULTS_DISAGREE in kinds(visit)


def test_who_knew_of_the_ear_problem_may_test_on_a_later_day(visit):
    a = visit.tablet("A")
    a.not_tested(a.find("S-1"), Reason.EAR_PROBLEM)
    visit.desk.gather([visit.give_back(a)])
    visit.pass_time(days=1)
    b = visit.tablet("B")
    b.walk_script(b.find("S-1"), PASS)
    visit.desk.gather([visit.give_back(b)])
    assert status(visit) is Status.PASSED
    assert kinds(visit) == []


# -- lists and names -----------------------------------------------------------------------------------

HEAD = "Student number,Last name,First name,Birth date,Grade,Class\n"
OTHERS = (
    "S-2,Birch,Ben,2018-11-02,3,3B\nS-3,Cedar,Cy,2017-01-30,4,4A\nS-4,Castaño Ruiz,Inés,2017-05-21,4,4A\n"
)


def newer_roster(visit, rows):
    file = visit.folder / "newer.csv"
    file.write_text(HEAD + rows + OTHERS, "utf-8")
    return visit.desk.office.update_roster(read_roster(file, date_order=None, today=date(2026, 10, 14)).rows)


def test_a_child_with_a_new_number_does_not_leave_with_the_old_one(visit):
    assert newer_roster(visit, "S-9,Alder,Ada,2018-03-14,3,3B\n").left == 1
    (doubt,) = visit.desk.doubts()
    visit.desk.settle(doubt.id, "one")
    assert len(visit.desk.standings()) == 4
    assert visit.desk.ledger.register.standing(doubt.subjects[0]).person.left is False
    assert newer_roster(visit, "").left == 1  # now on no list any more
    assert len(visit.desk.standings()) == 3
    newer_roster(visit, "S-9,Alder,Ada,2018-03-14,3,3B\n")
    assert len(visit.desk.standings()) == 4


def test_a_corrected_name_that_makes_two_alike_is_asked_about_and_joined_at_the_next_gathering(visit):
    station = visit.tablet("A")
    added = station.add_child(Person("Dora", "Aldr", "2018-03-14", grade="3", class_name="3B", added=True))
    station.walk_script(added, PASS)
    visit.desk.gather([visit.give_back(station)])
    visit.desk.office.correct(added, {"given": "Ada", "family": "Alder"})
    assert kinds(visit) == [DoubtKind.SAME_CHILD]
    visit.desk.gather([])
    assert (len(visit.desk.standings()), kinds(visit)) == (4, [])


def test_a_mistyped_number_that_joins_two_strangers_is_asked_about(visit):
    station = visit.tablet("A", classes=["4A"])
    zoe = Person("Zoe", "Zimmer", "2016-01-05", student_number="S-1", grade="4", class_name="4A", added=True)
    station.walk_script(station.add_child(zoe), PASS)
    visit.desk.gather([visit.give_back(station)])
    (doubt,) = visit.desk.doubts()
    assert doubt.reasons[-1] == "only the student number says one child"
    visit.desk.settle(doubt.id, "two")
    assert (status(visit), len(visit.desk.standings()), kinds(visit)) == (Status.NOT_SEEN, 5, [])


def test_a_number_that_joins_a_child_written_otherwise_is_no_question(visit):
    station = visit.tablet("A", classes=["4A"])
    ada = Person("Ada", "Aldar", "2018-03-15", student_number="S-1", grade="3", class_name="3B", added=True)
    station.add_child(ada)
    visit.desk.gather([visit.give_back(station)])
    assert (len(visit.desk.standings()), kinds(visit)) == (4, [])


# -- copies and clocks of tablets ----------------------------------------------------------------------


def restored(visit, station):
    """The tablet, put back to how it was when it was opened; gives its return from before, too."""
    store, copy = visit.folder / "A.store", visit.folder / "old-copy"
    copy.write_bytes(store.read_bytes())
    station.walk_script(station.find("S-1"), FAIL)
    before = visit.give_back(station, "before")
    station.close()
    visit.stations.remove(station)
    store.write_bytes(copy.read_bytes())
    visit.pass_time(hours=1)
    station = Station.open(store, PASSPHRASE, clock=visit.clock)
    visit.stations.append(station)
    return station, before


@pytest.mark.parametrize("newest_first", [True, False])
def test_an_older_copy_is_noticed_in_whatever_order_its_returns_come(visit, newest_first):
    station, before = restored(visit, visit.tablet("A"))
    returns = [before, visit.give_back(station, "after")]
    for file in reversed(returns) if newest_first else returns:
        visit.desk.gather([file])
    (doubt,) = visit.desk.doubts()
    assert doubt.kind is DoubtKind.OLDER_COPY
    visit.desk.settle(doubt.id, "noted")
    visit.desk.gather(returns)
    assert kinds(visit) == []


@pytest.fixture
def copied(visit):
    """One tablet's store and its copy, both in use."""
    station, store, copy = visit.tablet("A"), visit.folder / "A.store", visit.folder / "copy.store"
    station.close()
    shutil.copy(store, copy)
    visit.stations[:] = [Station.open(path, PASSPHRASE, clock=visit.clock) for path in (store, copy)]
    return visit.stations


def test_two_children_added_on_two_copies_are_two_and_so_are_their_results(visit, copied):
    one, two = copied
    one.walk_script(one.add_child(Person("Wren", "Oak", "2018-06-01", class_name="3B", added=True)), FAIL)
    visit.pass_time(minutes=30)
    sam = two.add_child(Person("Sam", "Fir", "2017-06-09", class_name="4A", added=True))
    two.walk_script(sam, PASS)
    two.walk_script(two.find("S-2"), FAIL)
    returns = [visit.give_back(station, name) for station, name in ((one, "one"), (two, "two"))]
    visit.desk.gather(returns)
    shown = {each.person.given: each.status for each in visit.desk.standings()}
    assert (shown["Wren"], shown["Sam"], shown["Ben"]) == (Status.RESCREEN, Status.PASSED, Status.RESCREEN)
    assert (len(shown), kinds(visit)) == (6, [DoubtKind.TWO_ENTRIES])
    before = len(visit.desk.ledger.register), sorted(map(repr, visit.desk.standings()))
    visit.desk.gather(reversed(returns))
    assert (len(visit.desk.ledger.register), sorted(map(repr, visit.desk.standings()))) == before
    # Who gets a handout now knows both children, and what the book decides of the second is about the second.
    other = visit.tablet("B", classes=["4A"])
    assert "Sam" in [each.person.given for each in other.rows("4A")]
    again = next(each.child for each in other.rows("4A") if each.person.given == "Sam")
    other.observe(again, "asked again")
    visit.desk.gather([visit.give_back(other)])
    notes = {each.person.given: each.observations for each in visit.desk.standings()}
    assert (notes["Sam"], notes["Wren"]) == (("asked again",), ())


def test_a_pass_on_a_copy_hides_no_failure_on_the_other(visit, copied):
    one, two = copied
    one.walk_script(one.find("S-1"), PASS)
    visit.pass_time(minutes=30)
    two.walk_script(two.find("S-1"), FAIL)
    visit.desk.gather([visit.give_back(two, "two"), visit.give_back(one, "one")])
    assert status(visit) is Status.RESCREEN
    assert set(kinds(visit)) == {DoubtKind.TWO_ENTRIES, DoubtKind.RESULTS_DISAGREE}
    (doubt,) = [each for each in visit.desk.doubts() if each.kind is DoubtKind.RESULTS_DISAGREE]
    visit.desk.settle(doubt.id, "passed")
    assert status(visit) is Status.PASSED


# -- copies of the book, and a disk that is full -------------------------------------------------------


def test_an_older_copy_of_the_book_takes_only_what_it_handed_out(visit):
    book, backup = visit.folder / "visit.book", visit.folder / "backup.book"
    early = visit.tablet("A")
    early.walk_script(early.find("S-1"), PASS)
    visit.desk.close()
    shutil.copy(book, backup)
    visit.desk = Desk.open(book, PASSPHRASE, clock=visit.clock)
    newer_roster(visit, "S-1,Alder,Ada,2018-03-14,3,3B\nS-7,Fir,Finn,2018-05-05,3,3B\n")
    visit.pass_time(minutes=5)
    (visit.folder / "A.handout").unlink()
    again, new = visit.tablet("A", store="A-again"), visit.tablet("C")
    for station in (again, new):
        station.walk_script(station.find("S-7"), PASS)
    returns = [visit.give_back(station) for station in (early, again, new)]
    older = Desk.open(backup, PASSPHRASE, clock=visit.clock)
    first, second, third = older.gather(returns).returns
    assert first.problem is None
    assert isinstance(second.problem, ForeignFile) and "older copy" in second.problem.happened
    assert isinstance(third.problem, ForeignFile) and "never made a handout" in third.problem.happened
    older.close()
    assert [each.problem for each in visit.desk.gather(returns).returns] == [None, None, None]


@pytest.mark.parametrize("step", range(3))  # the first return, the second, the join
def test_a_full_disk_in_the_middle_of_gathering_costs_nothing(visit, monkeypatch, step):
    a, b = visit.tablet("A"), visit.tablet("B")
    a.walk_script(a.find("S-1"), FAIL)
    b.walk_script(b.add_child(ADA_AGAIN), PASS)
    returns = [visit.give_back(station) for station in (a, b)]
    writes = {"left": step}
    append = Journal.append  # every durable step of a store goes through here

    def full(self, *args, **more):
        writes["left"] -= 1
        if writes["left"] < 0:
            raise WriteRefused("The disk is full.")
        return append(self, *args, **more)

    monkeypatch.setattr(Journal, "append", full)
    try:
        told = visit.desk.gather(returns).returns
    except WriteRefused:
        told = ()
    for each in told:
        assert (each.problem is None) or isinstance(each.problem, WriteRefused)
    monkeypatch.undo()
    assert writes["left"] < 0
    counters = {device.device: device.entries for device in visit.desk.devices() if device.device}
    for station, file in zip((a, b), returns, strict=True):
        whole = counters.get(station.ledger.device, 0)
        assert whole in (0, station.ledger.counter)
        assert visit.desk.was_gathered(file) == bool(whole)
    gathered = visit.desk.gather(returns)
    assert (gathered.listed, gathered.added, gathered.joined, gathered.children) == (4, 1, 1, 4)
    assert status(visit) is Status.RESCREEN
    after = sorted(map(repr, visit.desk.standings()))
    visit.desk.close()
    visit.desk = Desk.open(visit.folder / "visit.book", PASSPHRASE, clock=visit.clock)
    assert sorted(map(repr, visit.desk.standings())) == after


# -- the sum -------------------------------------------------------------------------------------------


def recounted(entries):
    """(listed, added, children) from the entries alone: no register, no fold of groups; leavers unseen left out."""
    listings = {e.id: e for e in entries if e.kind in (Kind.CHILD_LISTED, Kind.CHILD_ADDED)}
    numbers = {}
    for entry in sorted(entries, key=lambda e: (e.stamp, e.id)):
        if entry.kind in (Kind.CHILD_LISTED, Kind.CHILD_ADDED):
            numbers[entry.id] = entry.body.get("student_number", "")
        elif entry.kind is Kind.CHILD_CORRECTED:
            numbers[entry.body["child"]] = entry.body["fields"].get(
                "student_number", numbers[entry.body["child"]]
            )
    withdrawn = {e.body["decision"] for e in entries if e.kind is Kind.DECISION_WITHDRAWN}
    newest = {}
    said = (e for e in entries if e.kind in (Kind.SAME_CHILD, Kind.DIFFERENT_CHILD) and e.id not in withdrawn)
    for entry in sorted(said, key=lambda e: (not e.body.get("automatic"), e.stamp)):
        newest[frozenset(entry.body["records"])] = entry.kind is Kind.SAME_CHILD
    groups = [{record} for record in listings]
    joins = [set(pair) for pair, same in newest.items() if same]
    joins += [
        {a, b}
        for a in listings
        for b in listings
        if a < b and numbers[a] and numbers[a] == numbers[b] and newest.get(frozenset((a, b))) is not False
    ]
    for pair in joins:
        touched = [group for group in groups if group & pair]
        groups = [group for group in groups if not group & pair] + [set().union(*touched)]
    kinds_of = [entry.kind for entry in listings.values()]
    return kinds_of.count(Kind.CHILD_LISTED), kinds_of.count(Kind.CHILD_ADDED), len(groups)


def test_the_sum_of_a_gathering_is_that_of_the_entries_whatever_was_decided(visit):
    a, b = visit.tablet("A"), visit.tablet("B", classes=["4A"])
    ben = Person("Ben", "Birch", "2018-11-02", grade="3", class_name="3B", added=True)
    a.walk_script(a.add_child(ADA_AGAIN), PASS)
    a.walk_script(a.find("S-2"), FAIL)
    b.walk_script(b.add_child(ben), PASS)
    b.add_child(Person("Cyrus", "Ceder", "2017-01-30", student_number="S-1", class_name="4A", added=True))
    b.add_child(Person("Ida", "Castaño", "2017-05-21", class_name="4A", added=True))
    visit.desk.gather([visit.give_back(a), visit.give_back(b)])

    def adds_up():
        told = visit.desk.summary()
        assert recounted(visit.desk.ledger.register.entries()) == (told.listed, told.added, told.children)
        assert told.listed + told.added - told.joined == told.children == sum(told.statuses.values())
        inside = [record for each in visit.desk.standings() for record in each.records]
        assert sorted(inside) == sorted(visit.desk.ledger.register.people())

    adds_up()
    open_doubts = [d for d in [*visit.desk.doubts(), *visit.desk.joins()] if d.kind is DoubtKind.SAME_CHILD]
    assert len(open_doubts) >= 3
    for doubt in open_doubts:
        for decision in ("two", "one"):
            visit.desk.settle(doubt.id, decision)
            adds_up()
            visit.desk.gather([])
            adds_up()
            visit.desk.unsettle(doubt.id)
            adds_up()
