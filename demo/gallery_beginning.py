"""The pictures of the beginning: no store yet, and preparing a visit."""

from __future__ import annotations

from collections.abc import Iterator

from demo.gallery_visit import GalleryVisit
from demo.window import Hand


def pictures(hand: Hand, visit: GalleryVisit) -> Iterator[str]:
    """No store yet: the welcome, and preparing a visit."""
    session, stage = hand.session, hand.app.stage
    roster = visit.folder / "harrowgate-3-4.csv"
    roster.write_text(ROSTER, "utf-8")
    yield "welcome"
    session.go("prepare")
    yield "prepare-roster"
    act = stage.current.presenter
    act.read(roster)
    yield "prepare-roster-read"
    act.onward()
    stage.current._part.ids.school.text = "Tern Hollow Primary"
    yield "prepare-school"
    act.onward()
    yield "prepare-protocol"
    act.choose_protocol("illinois-675")
    yield "prepare-protocol-other"
    act.onward()
    yield "prepare-plan"
    act.onward()
    stage.current._suggest()
    yield "prepare-passphrase"


#: A class list as a school sends it, three of its rows not usable.
ROSTER = """Student ID;Last Name;First Name;DOB;Grade;Homeroom
S-1;Velloso;Amara;03/14/2018;3;3B
S-2;Wetherell;Tobias;11/02/2017;3;3B
S-3;Yilmazer;Deniz;31/31/2018;3;3B
S-4;Abernethy;Lou;09/19/2017;3;3B
S-5;;;05/21/2018;3;3B
S-1;Velloso;Amara;03/14/2018;3;3B
S-7;Okoro;Chidi;07/17/2018;K;K1
"""
