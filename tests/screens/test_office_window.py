"""The office's ways by real touches: look a child up, correct it, follow it up, close the visit, save papers."""

from __future__ import annotations

import pytest

from shared.records.standing import Status
from tests.facts import FAIL, PASSPHRASE

pytestmark = pytest.mark.window


@pytest.fixture(params=[(1280, 800), (800, 480)], ids=["tablet", "small"])
def office(visit, request):
    """A hand on the visit book after a short day: Amara passed, Tobias is to be screened again."""
    from demo.window import Hand

    visit.day(("Amara", "++++++"), ("Tobias", FAIL))
    desk = visit.open(str(visit.book), PASSPHRASE)
    desk.gather([visit.returned])
    desk.close()
    hand = Hand(visit.session(visit.book, exchange=visit.folder), request.param)
    hand.front.presenter.open(PASSPHRASE, "LD")
    hand.until(lambda: hand.screen == "book")
    yield hand
    hand.close()


def standing(hand, given):
    return next(s for s in hand.session.desk.standings() if s.person.given == given)


def field(hand, label):
    """The row of a child's data, scrolled into sight."""
    row = next(row for row in hand.front.ids.fields.children if row.label == label)
    scroll = hand.front.ids.fields.parent.parent
    scroll.scroll_to(row, animate=False)
    hand.frames(3)
    return row


def test_a_child_is_found_by_two_letters_and_corrected(office):
    office.touch("Children")
    assert office.sees("Children: 5")
    office.touch(office.front.ids.search_line)
    office.touch("W")
    office.touch("E")
    assert office.sees("Children: 1")
    office.touch("Wetherell, Tobias")
    assert office.screen == "child" and office.sees("◇ rescreen") and office.sees("Tablet C · MK · 20 dB HL")
    office.touch(field(office, "Grade"))
    office.front.ids.field.text = ""
    office.type("blue")
    office.touch("Save")
    assert office.sees("This is no grade.") and standing(office, "Tobias").person.grade == "3"
    office.front.ids.field.text = ""
    office.front.ids.field.take_focus()
    office.type("4")
    office.touch("Save")
    assert office.screen == "child" and standing(office, "Tobias").person.grade == "4"
    assert field(office, "Grade").before == "before: 3"
    assert office.sees("Grade: 3 → 4")
    office.touch(field(office, "Birth date"))
    picker = office.front.ids.picker
    for part, value in (("year", 2016), ("month", 3), ("day", 9)):
        if hasattr(picker, "_chips") and picker._narrow:
            office.touch(picker._chips[part])
        office.touch(next(key for key in picker.ids[f"{part}s"].__self__.children if key.value == value))
        assert standing(office, "Tobias").person.born == "2017-11-02"  # nothing before the button
    office.touch("Save")
    assert standing(office, "Tobias").person.born == "2016-03-09"
    office.touch("Back")
    assert office.screen == "children" and office.sees("WE")


def test_a_count_leads_to_its_children_and_back(office):
    office.touch(next(tile for tile in office.front.ids.statuses.children if "rescreen" in tile.name))
    assert office.screen == "children" and office.sees("Wetherell, Tobias")
    assert not office.sees("Velloso, Amara")
    office.key("escape")
    assert office.screen == "book"
    office.session.go("counts")
    office.frames()
    office.touch("Screened")
    assert office.screen == "children" and office.sees("Velloso, Amara") and office.sees("Children: 2")
    office.touch("Back")
    assert office.screen == "counts"


def test_a_case_is_closed_for_a_reason_and_that_is_taken_back(office):
    office.session.go("followup")
    office.frames()
    office.touch("Wetherell, Tobias")
    assert not office.sees("Findings are back")
    office.touch("Close the case …")
    office.touch("Could not be reached")
    assert standing(office, "Tobias").status is Status.CLOSED
    office.touch("closed cases")
    office.touch("Wetherell, Tobias")
    office.touch("Take back: Could not be reached")
    assert standing(office, "Tobias").status is Status.RESCREEN


def test_the_visit_is_closed_although_a_tablet_was_not_used(office, visit):
    from shared.vault import CHEAP

    office.session.desk.hand_out("D", visit.folder / "D.handout", PASSPHRASE, cost=CHEAP)
    office.session.go("closing")
    office.frames()
    assert office.sees("Tablet D") and office.sees("has not given back")
    assert office.sees("Without a result: 3") and office.front.ids.close.disabled
    office.touch("It was not used")
    assert office.sees("was not used") and not office.front.ids.close.disabled
    office.touch(office.front.ids.close)
    assert office.sees("3 children stay without a result")
    office.touch("Close it")
    assert office.session.desk.closing.closed and office.sees("Open it again")
    office.touch("Open it again")
    assert not office.session.desk.closing.closed
    office.touch("Show the list")
    assert office.screen == "children" and office.sees("Yilmazer, Deniz")


def test_a_paper_that_is_there_is_kept_beside_the_new_one(office, visit):
    office.session.go("papers")
    office.frames()
    office.touch("Make and save")
    office.until(lambda: not office.front.presenter.busy and office.sees("Children: 1"))
    office.touch("Make and save")
    assert office.sees("There is a rescreen-list.pdf already")
    office.touch("Keep both: save as rescreen-list-2.pdf")
    office.until(lambda: (visit.folder / "papers" / "rescreen-list-2.pdf").exists())
    office.until(lambda: not office.front.presenter.busy)


def test_what_is_long_or_far_below_stays_readable_and_in_sight(office):
    from fieldapp.widgets.rows import ChildRow, StandingLine

    office.session.go("papers", chosen="letters-referral")
    office.frames(5)
    shelf = office.front.ids.shelf
    chosen = next(tile for tile in office.front.ids.papers.children if tile.chosen)
    assert shelf.y <= chosen.to_window(*chosen.pos)[1] and chosen.to_window(0, chosen.top)[1] <= shelf.top + 1

    office.session.go("followup")
    words = "read the findings, then close the case"
    row = {
        "name": "Velloso, Amara",
        "born": "3B · 25 Nov 2026",
        "status": words,
        "waiting": False,
        "child": "c",
    }
    office.front.ids.list.show([row])
    office.frames(5)
    if office.app.look.roomy:
        (line,) = [each for each in office.widgets(StandingLine) if each.text == words]
        assert not line.shorten and line.texture_size[1] <= line.height
    assert list(office.widgets(ChildRow))
