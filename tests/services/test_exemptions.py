"""Children whom the roster exempts.

Outside: Arizona R9-13-105 (an audiologist's report not older than 12 months; read)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fieldapp.roster import RosterRow, read_roster
from fieldapp.services.exemptions import due_for, exempt
from fieldapp.services.presets import load_protocol
from shared.records.standing import Person, Status

ROSTER = """Student ID,Last Name,First Name,DOB,Grade,Class,Audiology report date,Opt out
S-1,Alder,Ada,3/14/2018,3,3B,1/20/2026,
S-2,Birch,Ben,11/2/2018,3,3B,9/30/2025,no
S-3,Cedar,Cy,1/30/2017,4,4A,,yes
S-4,Ruiz,Ines,5/21/2017,4,4A,pending,
S-5,Dale,Dot,5/22/2017,4,4A,12/1/2026,
"""
DAY = date(2026, 10, 14)


def test_a_roster_carries_exemptions_with_the_day_of_their_paper(tmp_path):
    (tmp_path / "list.csv").write_text(ROSTER, "utf-8")
    reading = read_roster(tmp_path / "list.csv", today=DAY)
    assert [row.person.exemptions for row in reading.rows] == [
        ("under-care 2026-01-20",),
        ("under-care 2025-09-30",),
        ("declined",),
        (),
        (),
    ]
    assert (
        "Column 'Audiology report date' holds neither yes, no nor a day gone by and was not used: lines 5 and 6."
        in reading.notes
    )


def listed(*people):
    return [RosterRow(line, person) for line, person in enumerate(people, 2)]


def arizona(make_visit):
    return make_visit(protocol=load_protocol("arizona-r9-13"))


def test_a_paper_that_stands_exempts_and_one_that_ran_out_makes_due_again(make_visit):
    desk = arizona(make_visit).desk
    ada, ben, cy, ines = (s.person for s in sorted(desk.standings(), key=lambda s: s.person.student_number))
    update = desk.office.update_roster(
        listed(
            replace(ada, exemptions=("under-care 2026-01-20",)),
            replace(ben, exemptions=("under-care 2025-10-13",)),
            replace(cy, exemptions=("declined 2026-09-01",)),
            ines,
        )
    )
    assert (update.exempt, update.due_again) == (2, 1)
    found = {s.person.student_number: s for s in desk.standings()}
    assert [found[number].status for number in ("S-1", "S-2", "S-3", "S-4")] == [
        Status.UNDER_CARE,
        Status.NOT_SEEN,
        Status.DECLINED,
        Status.NOT_SEEN,
    ]
    assert found["S-1"].note == "2026-01-20"
    assert "exemption-over" in due_for(desk.protocol, found["S-2"].person, DAY)
    assert "exemption-over" not in due_for(desk.protocol, found["S-1"].person, DAY)


def test_time_passing_and_newer_papers_are_seen_at_the_next_roster(make_visit):
    visit = arizona(make_visit)
    desk = visit.desk
    people = [s.person for s in desk.standings() if s.person.student_number != "S-1"]
    ada = next(s.person for s in desk.standings() if s.person.student_number == "S-1")
    with_paper = replace(ada, exemptions=("under-care 2026-01-20",))
    desk.office.update_roster(listed(with_paper, *people))
    before = len(desk.ledger.register)
    desk.office.update_roster(listed(with_paper, *people))
    assert len(desk.ledger.register) == before  # the same roster again writes nothing
    visit.pass_time(days=120)
    update = desk.office.update_roster(listed(with_paper, *people))
    child = visit.child("S-1")
    assert (update.exempt, update.due_again) == (0, 1)
    assert desk.ledger.register.standing(child).status is Status.NOT_SEEN
    renewed = replace(ada, exemptions=("under-care 2027-01-10",))
    update = desk.office.update_roster(listed(renewed, *people))
    assert (update.exempt, update.due_again) == (1, 0)
    assert desk.ledger.register.standing(child).note == "2027-01-10"


def test_what_was_found_on_the_day_is_kept(make_visit):
    visit = arizona(make_visit)
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), "++++++")
    desk = visit.desk
    desk.gather([visit.give_back(station)])
    people = [s.person for s in desk.standings()]
    marked = [
        replace(p, exemptions=("declined 2026-09-01",)) if p.student_number == "S-1" else p for p in people
    ]
    desk.office.update_roster(listed(*marked))
    assert desk.ledger.register.standing(visit.child("S-1")).status is Status.PASSED
    assert desk.doubts() == []


def test_a_prepared_book_knows_its_exempt_children(make_visit, tmp_path):
    from fieldapp.services.desk import Desk
    from shared.vault import CHEAP

    with_paper = Person("Ada", "Alder", "2018-03-14", "S-1", exemptions=("under-care 2026-01-20",))
    desk = Desk.prepare(
        tmp_path / "exempt.book",
        "seven quiet bells ring",
        school="Quillmarsh School",
        people=[with_paper, Person("Ben", "Birch", "2018-11-02", "S-2")],
        protocol=load_protocol("arizona-r9-13"),
        dates=[DAY],
        cost=CHEAP,
    )
    assert desk.counts()[Status.UNDER_CARE] == 1
    assert exempt(desk.standings(), desk.protocol, DAY) == (1, 0)
    desk.close()
