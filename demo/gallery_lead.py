"""The lead's and the office's pictures."""

from __future__ import annotations

from collections.abc import Iterator

from demo.gallery_visit import PASSPHRASE, GalleryVisit
from demo.window import Hand
from fieldapp.services.station import Station


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
    stage.current.presenter.close_visit()
    yield "book-not-finished"
    hand.front.close()
    session.go("doubts")
    yield "doubt"
    stage.current.presenter.later()
    yield "doubt-second"
    stage.current.presenter.decide("passed")
    yield "doubt-decided"
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
    hand.until(lambda: not stage.current.presenter.busy)
    yield "papers-letters"
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
    session.go("counts")
    yield "counts"
    session.menu()
    yield "book-menu"
    hand.front.close()
