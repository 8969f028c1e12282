"""The book's first screen and its closing without a window, on a real visit book."""

from __future__ import annotations

from fieldapp.screens.book.presenter import BookPresenter
from fieldapp.screens.closing.presenter import ClosingPresenter
from shared.records.entries import Reason
from shared.vault import CHEAP
from tests.facts import PASSPHRASE


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


def test_a_word_on_a_tablet_moves_no_other_tablet_under_the_finger(lead):
    for name in ("B", "D"):
        lead.desk.hand_out(name, lead.visit.folder / f"{name}.handout", PASSPHRASE, cost=CHEAP)
    lead.day(("Amara", "++++++"))
    closing = lead.show(ClosingPresenter)

    def order():
        return [line.key for line in closing.view().tablets]

    assert order() == ["B", "D", "C"]  # what is in the way stands first
    for what in ("unused", "expect", "lost"):
        closing.say("B", what)
        assert order() == ["B", "D", "C"]


def test_the_book_tells_screened_from_only_noted(lead):
    with lead.visit.tablet() as station:
        found = {s.person.given: s.child for s in station.standings()}
        station.walk_script(found["Amara"], "++++++")
        station.not_tested(found["Tobias"], Reason.ABSENT)
        station.not_tested(found["Deniz"], Reason.DECLINED)
    lead.gather()
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
