"""The lead's and the office's presenters without a window, on a real visit book."""

from __future__ import annotations

import pytest

from fieldapp.screens.followup.presenter import CLOSED, FollowupPresenter
from shared.records.entries import Kind
from shared.records.standing import Status

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
    assert [row["status"] for row in followup.rows()] == ["closed: moved away"]
    followup.open(child)
    assert lead.offered() == ["Take back: Moved away", "Back"]
    lead.choose("Take back: Moved away")
    assert lead.standing("Tobias").status is Status.RESCREEN
    followup.open(child)
    lead.choose("Close the case …")
    lead.choose("Another reason …")
    (*_words, act), _more = lead.typed[-1]
    act("at another school's clinic")
    assert [row["status"] for row in followup.rows()] == ["closed: at another school's clinic"]
