"""The lead's and the office's presenters without a window, on a real visit book."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fieldapp.screens.book.presenter import BookPresenter
from fieldapp.screens.child.presenter import ChildPresenter
from fieldapp.screens.children.presenter import ChildrenPresenter
from fieldapp.screens.closing.presenter import ClosingPresenter
from fieldapp.screens.counts.presenter import CountsPresenter
from fieldapp.screens.doubts.presenter import DoubtsPresenter
from fieldapp.screens.followup.presenter import CLOSED, FollowupPresenter
from fieldapp.screens.gather.presenter import GatherPresenter
from fieldapp.screens.hand_out.presenter import HandOutPresenter
from fieldapp.screens.letterhead.presenter import LetterheadPresenter
from fieldapp.screens.papers.presenter import PapersPresenter
from fieldapp.screens.prepare.presenter import PreparePresenter
from fieldapp.screens.preview.presenter import PreviewPresenter
from fieldapp.screens.roster.presenter import RosterPresenter
from fieldapp.screens.translation import Translator
from fieldapp.screens.unlock.presenter import UnlockPresenter
from fieldapp.screens.watch.presenter import WatchPresenter
from fieldapp.screens.welcome.presenter import WelcomePresenter
from fieldapp.services.closing import Aside
from fieldapp.services.printing import draw
from shared.records.entries import Kind, Reason
from shared.records.standing import Person, Status

PASSPHRASE = "seven quiet bells ring"
FAIL = "++-+++/++-+++"
READY = {
    "audiometer": "AM-04",
    "earphones": "EP-04",
    "calibrated": "2026-08-20",
    "listening": {"right": [1000, 2000, 4000], "left": [1000, 2000, 4000]},
    "own_thresholds": {ear: {"1000": 5, "2000": 5, "4000": 5} for ear in ("right", "left")},
}


class Lead:
    """An open visit book, and a session whose sheets and ways are written down instead of shown."""

    def __init__(self, visit):
        self.visit = visit
        self.went, self.told, self.asked, self.typed = [], [], [], []
        self.session = visit.session(visit.book, exchange=visit.folder)
        self.session.desk = self.desk = visit.open(str(visit.book), PASSPHRASE)
        self.session.go = lambda name, **more: self.went.append((name, more))
        self.session.tell = lambda title, words: self.told.append((title, words))
        self.session.ask = self._ask
        self.session.ask_text = lambda *words, **more: self.typed.append((words, more))

    def _ask(self, title, words, choices):
        self.asked.append((title, words, {text: act for text, _rank, act in choices}))

    def choose(self, text):
        """Press a button of the newest sheet."""
        self.asked[-1][2][text]()

    def offered(self):
        return list(self.asked[-1][2])

    def child(self, given):
        return next(s.child for s in self.desk.standings() if s.person.given == given)

    def standing(self, given):
        return self.desk.ledger.register.standing(self.child(given))

    def day(self, *walks, station=None):
        """Walks on tablet C (given name, answers), gathered."""
        station = self.visit.open(str(self.visit.store), PASSPHRASE)
        station.sign_in("MK")
        station.check_readiness(READY)
        for given, answers in walks:
            child = next(s.child for s in station.standings() if s.person.given == given)
            station.walk_script(child, answers)
        station.give_back(self.visit.folder / "C.return")
        station.close()
        return self.desk.gather([self.visit.folder / "C.return"])

    def show(self, presenter, **arguments):
        made = presenter(self.session)
        if hasattr(made, "enter"):
            made.enter(**arguments)
        return made


@pytest.fixture
def lead(visit):
    made = Lead(visit)
    yield made
    made.desk.close()


# -- follow-up -----------------------------------------------------------------------------------


def test_a_child_who_waits_for_a_rescreen_is_offered_no_findings(lead):
    lead.day(("Tobias", FAIL))
    followup = lead.show(FollowupPresenter)
    followup.open(lead.child("Tobias"))
    assert lead.offered() == ["Letter sent", "Close the case …", "Back"]
    lead.choose("Letter sent")
    followup.open(lead.child("Tobias"))
    assert lead.offered() == [
        "Letter sent",
        "Reminder sent",
        "Close the case …",
        "Take back: Letter sent",
        "Back",
    ]


def test_a_referred_child_is_offered_what_comes_back_from_outside(lead):
    lead.day(("Tobias", FAIL))
    screenings = [s.id for s in lead.standing("Tobias").screenings]
    ruled = {"child": lead.child("Tobias"), "status": "referred", "seen": screenings}
    lead.desk.ledger.write((Kind.RESULT_RULED, ruled))
    followup = lead.show(FollowupPresenter)
    followup.open(lead.child("Tobias"))
    assert "Seen by a professional" in lead.offered() and "Findings are back" in lead.offered()


def test_a_case_is_closed_for_a_reason_and_opened_again(lead):
    lead.day(("Tobias", FAIL))
    followup = lead.show(FollowupPresenter)
    child = lead.child("Tobias")
    followup.open(child)
    lead.choose("Close the case …")
    assert lead.offered() == [
        "Seen, no loss found",
        "Under care",
        "Moved away",
        "Declined",
        "Could not be reached",
        "Another reason …",
        "Back",
    ]
    lead.choose("Moved away")
    assert lead.standing("Tobias").status is Status.CLOSED
    followup.choose(CLOSED)
    assert [row["status"] for row in followup.rows()] == ["moved away"]
    assert [row["born"] for row in followup.rows()] == ["3B · closed 14 Sep"]
    followup.open(child)
    assert lead.offered() == ["Take back: Moved away", "Back"]
    lead.choose("Take back: Moved away")
    assert lead.standing("Tobias").status is Status.RESCREEN
    followup.open(child)
    lead.choose("Close the case …")
    lead.choose("Another reason …")
    (*_words, act), _more = lead.typed[-1]
    act("at another school's clinic")
    assert [row["status"] for row in followup.rows()] == ["at another school's clinic"]


# -- children ------------------------------------------------------------------------------------


def test_children_are_found_by_status_by_class_and_by_two_letters(lead):
    lead.day(("Tobias", FAIL), ("Amara", "++++++"))
    lead.desk.ledger.write((Kind.CHILD_LEFT, {"child": lead.child("Mei")}))
    children = lead.show(ChildrenPresenter)
    assert [row["name"] for row in children.view().rows] == [
        "Castellanos Ruiz, Inés",
        "Velloso, Amara",
        "Wetherell, Tobias",
        "Yilmazer, Deniz",
    ]
    tiles = {key: count for key, _words, count, _chosen in children.view().tiles}
    assert tiles == {"": "4", "not-seen": "2", "passed": "1", "rescreen": "1", "left": "1"}
    children.choose("rescreen")
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias"]
    children.choose("left")
    assert [row["name"] for row in children.view().rows] == ["Fairweather, Mei"]
    children.choose("")
    children.choose_class("4A")
    assert children.view().found == "Children: 1"
    children.type("ru")
    assert [row["name"] for row in children.view().rows] == ["Castellanos Ruiz, Inés"]
    children.type("fa")  # a leaver of another class is found as well
    assert [row["name"] for row in children.view().rows] == ["Fairweather, Mei"]
    assert children.live() == ["I"]
    children.open(lead.child("Tobias"))
    here = {"kind": "", "class_name": "4A", "typed": "fa", "back": "book"}
    assert lead.went[-1] == ("child", {"child": lead.child("Tobias"), "back": ("children", here)})


def test_a_row_of_the_counts_leads_to_its_children(lead):
    lead.day(("Tobias", FAIL), ("Amara", "++++++"))
    counts = lead.show(CountsPresenter)
    counts.open("missed_first")
    screen, arguments = lead.went[-1]
    assert screen == "children"
    children = lead.show(ChildrenPresenter, **arguments)
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias"]
    assert children.view().tiles[0][1:] == ("Missed a tone, first", "1", True)


def test_a_childs_page_says_where_it_stands_and_what_was_done(lead):
    lead.day(("Tobias", FAIL))
    child = lead.child("Tobias")
    lead.desk.office.note_step([child], "sent", note="L-1")
    page = lead.show(ChildPresenter, child=child)
    view = page.view()
    assert view.title == "Tobias Wetherell"
    assert view.status == "◇ rescreen"
    assert any("due 28 Sep 2026 to 26 Oct 2026" in line for line in view.stands)
    (test,) = view.tests
    assert test.heads == ("1000", "2000", "4000")
    assert [(ear, cells) for ear, _word, cells in test.rows] == [
        ("right", ("heard\nheard", "heard\nheard", "NR\nNR")),
        ("left", ("heard\nheard", "heard\nheard", "heard\nheard")),
    ]
    assert "Tablet C · MK · 20 dB HL" in test.about
    sections = dict(view.sections)
    assert sections["Follow-up"] == ("14 Sep 2026: Letter sent (L-1)",)
    assert view.has_steps and not view.doubts


def test_a_correction_is_shown_as_one_and_a_bad_value_stays_in_the_sheet(lead):
    child = lead.child("Tobias")
    page = lead.show(ChildPresenter, child=child)
    page.correct("family")
    (title, label, _button, _act), more = lead.typed[-1]
    assert (title, label, more["text"]) == ("Correct: Family name", "Family name", "Wetherell")
    assert more["check"]("") == "The name is missing. Type the name."
    assert more["check"]("Wetherall") == ""
    family = next(line for line in page.view().fields if line.field == "family")
    assert (family.value, family.before) == ("Wetherall", "before: Wetherell")
    (earlier,) = dict(page.view().sections)["Earlier values"]
    assert "Family name: Wetherell → Wetherall" in earlier
    page.took_born("1917-03-01")
    assert "no birth date" in lead.told[-1][0]
    page.took_born("2017-03-01")
    assert lead.standing("Tobias").person.born == "2017-03-01"
    page.go_back()
    assert lead.went[-1] == ("children", {})


def test_what_waits_for_a_decision_is_on_the_childs_page_and_opens_there(lead):
    lead.day(("Amara", "++++++"))
    station = lead.visit.open(str(lead.visit.store), PASSPHRASE)
    station.add_child(Person("Toby", "Wetherall", "2017-11-20", "", "3", "3B", added=True))
    station.give_back(lead.visit.folder / "C.return")
    station.close()
    lead.desk.gather([lead.visit.folder / "C.return"])
    page = lead.show(ChildPresenter, child=lead.child("Tobias"))
    ((doubt, question),) = page.view().doubts
    assert question == "Is this one child or two?"
    page.decide()
    assert lead.went[-1] == ("doubts", {"doubt": doubt})
    doubts = lead.show(DoubtsPresenter, doubt=doubt)
    assert doubts.view().title == "Doubt 1 of 1"
    doubts.decide("two")
    decisions = dict(page.view().sections)["Decisions"]
    assert "another child than Wetherall, Toby" in decisions[0]


def test_what_the_evidence_joined_can_be_looked_at_and_taken_apart(lead):
    lead.day(("Amara", "++++++"))
    station = lead.visit.open(str(lead.visit.store), PASSPHRASE)
    tobias = next(s.person for s in station.standings() if s.person.given == "Tobias")
    station.add_child(replace(tobias, student_number="", added=True))
    station.give_back(lead.visit.folder / "C.return")
    station.close()
    lead.desk.gather([lead.visit.folder / "C.return"])
    page = lead.show(ChildPresenter, child=lead.child("Tobias"))
    ((join, question),) = page.view().doubts
    assert question == "Two records were taken for one child. Look again?"
    doubts = lead.show(DoubtsPresenter)
    assert doubts.view().empty
    assert doubts.view().decisions == (("joins", "Look at what was joined: 1"),)
    doubts.decide("joins")
    view = doubts.view()
    assert (view.title, [key for key, _ in view.decisions]) == ("Joined 1 of 1", ["one", "two"])
    before = len(lead.desk.standings())
    doubts.decide("two")
    assert len(lead.desk.standings()) == before + 1
    assert doubts.view().question == "Nothing is joined by the evidence alone"
    doubts.undo()
    assert len(lead.desk.standings()) == before
    assert lead.show(DoubtsPresenter, doubt=join).view().title == "Joined 1 of 1"


def test_the_number_of_a_doubt_counts_those_decided(lead):
    station = lead.visit.open(str(lead.visit.store), PASSPHRASE)
    station.sign_in("MK")
    station.check_readiness(READY)
    for given, reason in (("Amara", Reason.UNDER_CARE), ("Tobias", Reason.DECLINED)):
        child = next(s.child for s in station.standings() if s.person.given == given)
        station.walk_script(child, "++++++")
        station.not_tested(child, reason)
    station.give_back(lead.visit.folder / "C.return")
    station.close()
    lead.desk.gather([lead.visit.folder / "C.return"])
    doubts = lead.show(DoubtsPresenter)
    assert (doubts.view().title, doubts.view().about) == ("Doubt 1 of 2", "Only a person can decide this")
    doubts.decide("passed")
    assert (doubts.view().title, doubts.view().about) == ("Doubt 2 of 2", "decided just now: 1")
    doubts.undo()
    assert doubts.view().title == "Doubt 1 of 2"


# -- closing -------------------------------------------------------------------------------------


def test_closing_says_what_is_in_the_way_and_who_has_no_result(lead):
    closing = lead.show(ClosingPresenter)
    (tablet,) = closing.view().tablets
    assert (tablet.words, [what for what, _words in tablet.ways]) == (
        "has not given back",
        ["unused", "lost"],
    )
    assert not closing.view().may_close and closing.view().without == "Without a result: 5"
    assert closing.view().names[0] == ("3A", "Fairweather, Mei")
    closing.say("C", "unused")
    assert closing.view().tablets[0].words == "was not used" and closing.view().may_close
    closing.say("C", "expect")
    assert not closing.view().may_close
    closing.say("C", "lost")
    closing.close()
    assert "5 children stay without a result" in lead.asked[-1][1]
    lead.choose("Close it")
    assert closing.view().closed and closing.view().said == "closed"
    closing.reopen()
    assert not closing.view().closed


def test_the_book_tells_screened_from_only_noted(lead):
    station = lead.visit.open(str(lead.visit.store), PASSPHRASE)
    station.sign_in("MK")
    station.check_readiness(READY)
    found = {s.person.given: s.child for s in station.standings()}
    station.walk_script(found["Amara"], "++++++")
    station.not_tested(found["Tobias"], Reason.ABSENT)
    station.not_tested(found["Deniz"], Reason.DECLINED)
    station.give_back(lead.visit.folder / "C.return")
    station.close()
    lead.desk.gather([lead.visit.folder / "C.return"])
    view = BookPresenter(lead.session).view()
    assert view.screened == "1 of 5 screened" and view.fraction == 0.2
    assert view.standing == "Where all 5 children stand"
    # Every child is counted once, in one line, under the word that its own page has for it.
    assert view.statuses == (
        ("not-seen", "not yet seen", "2"),
        ("absent", "– absent", "1"),
        ("declined", "– declined by guardian", "1"),
        ("passed", "✓ passed", "1"),
    )


def test_an_open_case_says_when_its_next_step_is_due(lead):
    lead.day(("Tobias", FAIL))
    followup = lead.show(FollowupPresenter)
    (row,) = followup.rows()
    first = date.fromisoformat(lead.standing("Tobias").window[0])
    month = lead.session.t(f"month.{first.month}")
    assert row["born"] == f"3B · due {first.day} {month}"
    followup.t = Translator("es")
    month = followup.t(f"month.{first.month}")
    assert followup.rows()[0]["born"] == f"3B · para el {first.day} {month}"


# -- handing out, gathering, the watch -----------------------------------------------------------


def test_a_gathered_return_is_known_again_and_not_chosen(lead):
    gather = lead.show(GatherPresenter)
    lead.day(("Amara", "++++++"))
    (found,) = [each for each in gather.files() if each.name == "C.return"]
    assert gather.sign(found) == "gathered" and gather.chosen() == []
    gather.choose(found)
    assert gather.sign(found) == "gathered ✓" and gather.chosen() == [found.path]
    gather.gather()
    assert gather.result.returns[0].new == 0 and gather.chosen() == []
    station = lead.visit.open(str(lead.visit.store), PASSPHRASE)
    station.give_back(lead.visit.folder / "C.return")
    station.close()
    assert gather.chosen() == [found.path]  # written anew: another file
    assert lead.desk.was_gathered(lead.visit.folder / "nothing.return") is False


def test_what_came_back_says_that_a_tablet_was_set_aside(lead):
    lead.desk.closing.set_aside("C", Aside.LOST)
    gather = lead.show(GatherPresenter)
    assert list(gather.came_back()) == [("Tablet C", "is lost")] and not gather.has_code()


def test_a_handout_says_where_it_is_and_what_comes_next(lead):
    handing = lead.show(HandOutPresenter)
    handing.choose_name("D")
    handing.type("four calm words sounding")
    handing.write()
    assert handing.done == "D.handout is written. Children in it: 5."
    assert str((lead.visit.folder / "D.handout").resolve()) in handing.next
    assert "carry the file to Tablet D" in handing.next


def test_a_handout_that_is_there_is_replaced_only_by_a_word(lead):
    """It may be another visit's: the tablets' names are the same at every school."""
    there = lead.visit.folder / "D.handout"
    there.write_bytes(b"another school's")
    handing = lead.show(HandOutPresenter)
    handing.choose_name("D")
    handing.type("four calm words sounding")
    handing.write()
    assert lead.asked[-1][0] == "There is a D.handout already" and not handing.done
    lead.choose("Not now")
    assert there.read_bytes() == b"another school's" and not handing.done
    lead.choose("Keep both: save as D-2.handout")
    assert handing.done.startswith("D-2.handout is written") and "D-2.handout" in handing.next
    assert there.read_bytes() == b"another school's"
    handing.write()
    lead.choose("Replace it")
    assert handing.done.startswith("D.handout is written") and there.read_bytes() != b"another school's"


def test_a_tablets_passphrase_does_not_stay_for_the_next_tablet(lead):
    handing = lead.show(HandOutPresenter)
    handing.choose_name("D")
    handing.type("four calm words sounding")
    handing.choose_name("D")
    assert handing.may_write
    handing.choose_name("E")
    assert handing.passphrase == "" and not handing.may_write


def test_what_is_entered_in_the_book_is_signed_by_who_opened_it(lead):
    lead.desk.close()
    lead.show(UnlockPresenter).open(PASSPHRASE, " ld ")
    lead.desk = lead.session.desk
    lead.desk.office.note_step([lead.child("Tobias")], "sent", note="")
    assert lead.standing("Tobias").followups[-1].author == "LD"


def test_a_station_with_too_few_children_says_so(lead):
    lead.day(("Amara", "++++++"), ("Tobias", FAIL))
    watch = WatchPresenter(lead.session)
    (row,) = watch.view().rows
    assert row.cells == () and row.instead == "too few children yet: shown from 5 on"
    lead.day(("Deniz", "++++++"), ("Mei", "++++++"), ("Inés", "++++++"))
    (row,) = watch.view().rows
    assert [words for words, _raised in row.cells] == ["0 %", "0 %", "20 %", "0 %", "0 %", "0 %"]


# -- papers --------------------------------------------------------------------------------------


def test_every_list_says_how_many_children_it_holds(lead):
    lead.day(("Tobias", FAIL), ("Amara", "++++++"))
    papers = lead.show(PapersPresenter)
    counts = {name: count for name, _title, count in papers.papers()}
    assert counts["rescreen-list"] == counts["letters-rescreen"] == "1"
    assert counts["letters-passed"] == "1" and counts["not-yet-screened-list"] == "3"
    assert counts["class-slips"] == "4" and counts["child-records"] == "5"
    assert counts["yearly-summary"] == counts["readiness-log"] == ""


def test_every_count_is_the_number_of_children_on_the_paper(lead, tmp_path):
    """What a button says before and what the paper itself holds are worked out apart."""
    lead.day(("Tobias", FAIL), ("Amara", "++++++"))
    counts = {name: count for name, _title, count in lead.show(PapersPresenter).papers() if count}
    made = {name: len(draw(lead.desk, name, tmp_path).made.children) for name in counts}
    assert {name: int(count) for name, count in counts.items()} == made


def test_a_paper_that_is_there_is_replaced_only_by_a_word(lead):
    lead.day(("Tobias", FAIL))
    papers = lead.show(PapersPresenter)
    papers.make()
    assert not lead.asked and papers.made["rescreen-list"].path.name == "rescreen-list.pdf"
    first = papers.made["rescreen-list"].path.read_bytes()
    papers.make()
    assert lead.asked[-1][0] == "There is a rescreen-list.pdf already"
    lead.choose("Not now")
    lead.choose("Keep both: save as rescreen-list-2.pdf")
    assert sorted(file.name for file in papers.folder.glob("*.pdf")) == [
        "rescreen-list-2.pdf",
        "rescreen-list.pdf",
    ]
    assert (papers.folder / "rescreen-list.pdf").read_bytes() == first
    papers.make()
    lead.choose("Replace it")
    assert len(list(papers.folder.glob("*.pdf"))) == 2


def test_letters_without_a_letterhead_are_warned_of(lead):
    lead.day(("Tobias", FAIL))
    papers = lead.show(PapersPresenter)
    papers.open("letters-rescreen")
    assert "no office and no telephone" in papers.view().warning
    papers.make()
    while lead.asked[-1][0] != "The letterhead is empty":
        lead.choose("Save them")
    lead.choose("Fill it in first")
    went, arguments = lead.went[-1]
    assert went == "letterhead" and not papers.folder.exists()
    letterhead = lead.show(LetterheadPresenter, **arguments)
    letterhead.go_back()  # the same paper is chosen again
    assert lead.went[-1][0] == "papers" and lead.went[-1][1]["chosen"] == "letters-rescreen"
    lead.desk.office.set_letterhead(name="Health office", phone="555-0100")
    assert "no office" not in papers.view().warning
    papers.make()
    lead.choose("Save them")  # of the protocol that nobody has verified
    assert (papers.folder / "letters-rescreen.pdf").exists()


# -- exempt children -----------------------------------------------------------------------------


def test_preparing_and_a_newer_list_say_who_is_exempt_and_who_is_due_again(lead, tmp_path):
    heads = "Student ID,Last Name,First Name,DOB,Grade,Class,Opt out date\n"
    lines = "S-10432,Velloso,Amara,2018-03-14,3,3B,2026-01-20\nS-10462,Wetherell,Tobias,2017-11-02,3,3B,2025-09-01\n"
    (tmp_path / "list.csv").write_text(heads + lines, "utf-8")
    prepare = lead.show(PreparePresenter)
    prepare.read(tmp_path / "list.csv")
    prepare.choose_protocol("california-2951")  # a refusal stands for twelve months
    said = "Exempt by what is on file: 1. Due again because that has run out: 1."
    assert said in prepare.plan_words()
    prepare.choose_protocol("illinois-675")  # there it has no end
    assert "on file: 2. Due again because that has run out: 0." in prepare.plan_words()
    roster = lead.show(RosterPresenter)
    roster.read(tmp_path / "list.csv")
    roster.take()
    assert "Exempt by what is on file: 2." in roster.said  # aaa-2011 sets no end either
    assert lead.standing("Amara").status is Status.DECLINED
    page = lead.show(ChildPresenter, child=lead.child("Amara"))
    assert page.view().status == "– declined by guardian" and "2026-01-20" in page.view().stands


# -- preparing -----------------------------------------------------------------------------------


def test_days_of_the_visit_lie_as_far_ahead_as_the_school_wants(lead):
    prepare = lead.show(PreparePresenter)
    first = [iso for iso, _words, _chosen in prepare.coming_days()]
    assert prepare.may_turn == (False, True)
    prepare.turn_weeks(-1)
    assert [iso for iso, _words, _chosen in prepare.coming_days()] == first  # never before today
    prepare.turn_weeks(1)
    prepare.turn_weeks(1)
    later = [iso for iso, _words, _chosen in prepare.coming_days()]
    assert min(later) > max(first) and "2026" in prepare.range_words()
    prepare.turn_day(later[0])
    assert prepare.days[-1].isoformat() == later[0]
    prepare.turn_weeks(-1)
    prepare.turn_weeks(-1)
    assert prepare.days[-1].isoformat() == later[0]  # still chosen, though out of sight


def test_children_outside_the_grades_due_are_told_of_and_may_be_left_out(lead, tmp_path):
    """WAC 246-760-020 names kindergarten and grades 1, 2, 3, 5 and 7; the preset carries where it was read."""
    from fieldapp.services.presets import preset

    outside = next(grade for grade in ("4", "6", "8") if grade not in preset("washington-246-760").grades_due)
    heads = "Student ID,Last Name,First Name,DOB,Grade,Class\n"
    lines = f"S-1,Velloso,Amara,2018-03-14,3,3B\nS-2,Wetherell,Tobias,2017-11-02,{outside},{outside}A\n"
    (tmp_path / "list.csv").write_text(heads + lines, "utf-8")
    prepare = lead.show(PreparePresenter)
    prepare.read(tmp_path / "list.csv")
    prepare.choose_protocol("washington-246-760")
    assert prepare.outside_words().startswith("In grades that the protocol does not name: 1. They go")
    assert prepare.plan_words() == "2 children on 4 tablets: about 2 min of screening."  # 1.5, rounded
    prepare.set_only_due(True)
    assert [person.given for person in prepare.people()] == ["Amara"]
    assert "left out" in prepare.outside_words() and prepare.plan_words().startswith("1 child on")
    prepare.set_plan(tablets=1)
    prepare.set_only_due(False)
    assert prepare.outside() == 1 and len(prepare.people()) == 2


def test_the_book_is_made_where_the_lead_says_and_opened_from_there(lead, tmp_path):
    (tmp_path / "list.csv").write_text("Last Name,First Name,DOB\nVelloso,Amara,2018-03-14\n", "utf-8")
    made = []
    lead.session.prepare_book = lambda path, *_a, **_k: made.append(path) or lead.desk
    prepare = lead.show(PreparePresenter)
    prepare.read(tmp_path / "list.csv")
    prepare.type_school("Tern Hollow")
    prepare.type_passphrase(PASSPHRASE)
    assert "already" in prepare.set_book(str(lead.visit.book))
    assert "no such folder" in prepare.set_book(str(tmp_path / "nowhere" / "a.book"))
    assert prepare.set_book(str(tmp_path / "tern.book")) == ""
    prepare.make()
    assert made == [str(tmp_path / "tern.book")] == [lead.session.store_path]


def test_a_book_or_a_store_that_lies_in_a_folder_is_opened_from_the_first_screen(lead):
    welcome = lead.show(WelcomePresenter)
    lead.session.store_path = "nowhere"
    for path in (lead.visit.book, lead.visit.store):
        welcome.folder = path.parent
        assert path.name in [found.name for found in welcome.files()]
        welcome.took(path)
        assert lead.went[-1] == ("unlock", {}) and lead.session.store_path == str(path)
    (lead.visit.folder / "no.book").write_text("no book")
    went = list(lead.went)
    welcome.took(lead.visit.folder / "no.book")
    assert lead.told and lead.went == went


def test_why_nothing_can_be_printed_is_said(lead, monkeypatch):
    monkeypatch.setattr("fieldapp.screens.preview.presenter.can_open", lambda: False)
    paper = draw(lead.desk, "rescreen-list", lead.visit.folder)
    view = lead.show(PreviewPresenter, paper=paper).view()
    assert not view.may_print and "print the file from another device" in view.said
