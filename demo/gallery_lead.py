"""The lead's and the office's pictures."""

from __future__ import annotations

from collections.abc import Iterator

from demo import gallery_findings
from demo.gallery_visit import PASSPHRASE, GalleryVisit
from demo.window import Hand
from fieldapp.screens.doubts.presenter import JOINS
from fieldapp.services.station import Station
from shared.records.entries import Kind
from shared.records.standing import Status


def pictures(hand: Hand, visit: GalleryVisit, watch: object) -> Iterator[str]:
    """The visit book's screens."""
    session, stage = hand.session, hand.app.stage
    session.change(**{})
    stage.current.presenter.open(PASSPHRASE, "LD")
    hand.until(lambda: hand.screen == "book")
    yield "book-before-the-day"
    session.go("doubts")
    yield "doubts-none"
    session.go("hand_out")
    yield "hand-out"
    stage.current.suggest()
    stage.current.presenter.turn_class("3A")
    stage.current.presenter.turn_class("3B")
    yield "hand-out-filled"
    stage.current.presenter.write()
    hand.until(lambda: not stage.current.presenter.busy)
    yield "hand-out-done"
    station = Station.open(visit.store, PASSPHRASE, clock=visit.clock)
    visit.morning(station)
    station.give_back(visit.folder / "C-2026-09-14.return")
    station.close()
    visit.other_tablet()
    session.go("listen")
    yield "listen"
    session.go("gather")
    yield "gather"
    stage.current.presenter.gather()
    hand.until(lambda: not stage.current.presenter.busy)
    yield "gather-done"
    session.go("book")
    yield "book"
    session.go("closing")
    yield "closing"
    stage.current.presenter.say("B", "unused")
    yield "closing-unused"
    yield from _children(hand)
    session.go("doubts")
    yield "doubt"
    stage.current.presenter.later()
    yield "doubt-second"
    stage.current.presenter.decide("passed")
    yield "doubt-decided"
    stage.current.presenter.undo()
    disagreeing = next(each for each in session.desk.standings() if each.disagreeing)
    note = {"child": disagreeing.child, "reason": "under-care", "note": "hearing aid, left"}
    (told,) = session.desk.ledger.write((Kind.NOT_TESTED, note))
    session.go("doubts", doubt=next(d.id for d in session.desk.doubts() if disagreeing.child in d.subjects))
    yield "doubt-three-sides"
    session.desk.ledger.write((Kind.DECISION_WITHDRAWN, {"decision": told.id, "child": disagreeing.child}))
    session.go("doubts", doubt=JOINS)
    yield "doubts-joined-by-the-evidence"
    stage.current.presenter.decide("two")
    yield "doubts-taken-apart"
    stage.current.presenter.undo()
    session.go("watch")
    yield "watch"
    session.go("papers")
    yield "papers"
    stage.current.presenter.make()
    hand.until(lambda: not stage.current.presenter.busy)
    yield "papers-made"
    stage.current.presenter.open("letters-rescreen")
    stage.current.presenter.make()
    yield "papers-letters-before-they-go-home"
    hand.touch(session.t("papers.save_anyway"))
    yield "papers-letters-no-letterhead"
    hand.touch(session.t("papers.save_anyway"))
    hand.until(lambda: not stage.current.presenter.busy)
    yield "papers-letters"
    stage.current.presenter.open("rescreen-list")
    stage.current.presenter.make()
    yield "papers-there-already"
    hand.front.close()
    for paper, name in (("rescreen-list", "preview"), ("letters-rescreen", "preview-letters")):
        stage.current.presenter.open(paper)
        stage.current.presenter.show()
        hand.until(lambda: hand.screen == "preview" and stage.current.presenter.picture)
        yield name
        stage.current.presenter.resize(1)
        hand.until(lambda: stage.current.presenter.picture)
        yield f"{name}-larger"
        stage.current.presenter.go_back()
    session.go("letterhead")
    yield "letterhead"
    newer = visit.folder / "harrowgate-newer.csv"
    newer.write_text(
        "Student ID,Last Name,First Name,DOB,Grade,Class\nS-99,Newcomb,Ida,2018-03-03,3,3A\n", "utf-8"
    )
    session.go("roster")
    yield "roster"
    stage.current.presenter.read(newer)
    yield "roster-read"
    session.go("followup")
    yield "followup"
    rows = stage.current.presenter.rows()
    stage.current.presenter.open(rows[0]["child"])
    yield "followup-steps"
    hand.front.close()
    stage.current.presenter._ask_why(rows[0]["child"])
    yield "followup-why-closed"
    hand.front.close()
    session.desk.followup.note_step([rows[0]["child"]], "moved")
    stage.current.presenter.choose("closed")
    yield "followup-closed"
    stage.current.presenter.open(rows[0]["child"])
    yield "followup-closed-case"
    hand.front.close()
    session.desk.followup.take_step_back(rows[0]["child"])
    yield from gallery_findings.pictures(hand)
    session.go("counts")
    yield "counts"
    session.menu()
    yield "book-menu"
    hand.front.close()


def _children(hand: Hand) -> Iterator[str]:
    """The book's children, and one child's page."""
    session, stage = hand.session, hand.app.stage
    session.go("children", kind="owed")
    yield "children-without-a-result"
    session.go("children", kind="rescreen")
    yield "children-rescreen"
    stage.current.presenter.choose("")
    yield "children"
    stage.current.choose_class()
    yield "children-classes"
    hand.front.close()
    stage.current.pad(True)
    stage.current.presenter.type("we")
    yield "children-search"
    stage.current.presenter.type("fenwicke")
    yield "children-search-other-spelling"
    stage.current.presenter.type("qq")
    yield "children-nobody"
    stage.current.presenter.type("we")
    found = next(each for each in session.desk.standings() if each.status is Status.RESCREEN)
    session.desk.office.correct(found.child, {"guardian": "Ann Quillfeather", "language": "Spanish"})
    session.desk.followup.note_step([found.child], "sent")
    session.go("child", child=found.child)
    yield "child"
    stage.current.correct("grade")
    hand.front.ids.field.text = "blue"
    hand.front.take()
    yield "child-refused"
    hand.front.close()
    stage.current.correct("born")
    yield "child-born"
    hand.front.close()
    doubtful = session.desk.doubts()[0].subjects[0]
    session.go("child", child=doubtful)
    yield "child-doubt"
