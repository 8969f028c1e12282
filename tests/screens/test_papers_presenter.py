"""Lists and letters without a window, on a real visit book."""

from __future__ import annotations

from fieldapp.screens.letterhead.presenter import LetterheadPresenter
from fieldapp.screens.papers.presenter import PapersPresenter
from fieldapp.screens.preview.presenter import PreviewPresenter
from fieldapp.services.printing import draw
from tests.facts import FAIL


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


def test_why_nothing_can_be_printed_is_said(lead, monkeypatch):
    monkeypatch.setattr("fieldapp.screens.preview.presenter.can_open", lambda: False)
    paper = draw(lead.desk, "rescreen-list", lead.visit.folder)
    view = lead.show(PreviewPresenter, paper=paper).view()
    assert not view.may_print and "print the file from another device" in view.said
