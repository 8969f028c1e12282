"""Follow-up without a window, on a real visit book."""

from __future__ import annotations

from datetime import date

from fieldapp.screens.followup.presenter import CLOSED, FollowupPresenter
from fieldapp.screens.translation import Translator
from shared.records.entries import Kind
from shared.records.standing import Status
from tests.facts import FAIL


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
        "Declined further care",
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
