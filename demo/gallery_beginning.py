"""The pictures of the beginning: no store yet, and preparing a visit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from demo.gallery_visit import GalleryVisit
from demo.window import Hand


def pictures(hand: Hand, visit: GalleryVisit) -> Iterator[str]:
    """No store yet: the welcome, and preparing a visit."""
    session, stage = hand.session, hand.app.stage
    roster = visit.folder / "harrowgate-3-4.csv"
    roster.write_text(ROSTER, "utf-8")
    yield "welcome"
    opened = session.settings
    session.settings = replace(opened, opened=(str(visit.book), str(visit.store)))
    session.go("welcome")
    yield "welcome-again"
    stage.current.presenter.open(visit.book)
    yield "unlock-a-book"
    stage.current.presenter.go_back()
    session.settings = opened
    session.go("prepare")
    yield "prepare-roster"
    act = stage.current.presenter
    act.read(roster)
    yield "prepare-roster-read"
    act.onward()
    stage.current._part.ids.school.text = "Tern Hollow Primary"
    yield "prepare-school"
    act.turn_weeks(1)
    yield "prepare-school-later"
    act.turn_weeks(-1)
    act.onward()
    yield "prepare-protocol"
    act.choose_protocol("illinois-675")
    yield "prepare-protocol-other"
    yield from protocol_pictures(hand)
    act = stage.current.presenter
    act.onward()
    yield "prepare-plan"
    act.open_step("protocol")
    act.choose_protocol("california-2951")  # it names K, but not grade 3
    act.onward()
    act.set_only_due(True)
    yield "prepare-plan-only-due"
    act.onward()
    stage.current._suggest()
    yield "prepare-passphrase"
    hand.touch(session.t("field.hide"))
    act.ask_place()
    yield "prepare-place"
    hand.key("escape")


def protocol_pictures(hand: Hand) -> Iterator[str]:
    """All of a protocol, a copy of it while it is changed, one that makes no sense, and the copy in the list."""
    session, stage = hand.session, hand.app.stage
    stage.current.presenter.see_protocol()
    yield "protocol-source"
    stage.current.choose("referral")
    yield "protocol-field"
    stage.current.presenter.copy()
    yield "protocol-name"
    hand.front.ids.field.text = "Tern Hollow district"
    hand.front.take()
    for field in ("frequencies", "levels", "rescreen_days", "referral", "grades_due", "exemptions"):
        stage.current.choose(field)
        yield f"protocol-change-{field.replace('_', '-')}"
    act = stage.current.presenter
    act.draft.set_level(0, 500, 30)
    act.choose("levels")
    yield "protocol-changed-level"
    act.draft.put("rescreen_days", [21, 14])
    act.choose("rescreen_days")
    yield "protocol-wrong"
    act.save()
    yield "protocol-not-saved"
    hand.front.escape()
    act.draft.put("rescreen_days", [14, 21])
    act.go_back()
    yield "protocol-leave"
    hand.front.escape()
    act.save()
    yield "protocol-saved"
    hand.front.escape()
    stage.current.choose("levels")
    yield "protocol-own"
    stage.current.presenter.use()
    yield "prepare-protocol-own"
    broken = session.own_protocols.folder / "by-hand.toml"
    broken.write_text('name = "by-hand"\ntitle = "By hand"\nfrequencies = []\n', "utf-8")
    session.go("prepare", kept=stage.arguments["kept"] | {"protocol": "by-hand"})
    yield "prepare-protocol-broken"
    broken.unlink()
    session.go("prepare", kept=stage.arguments["kept"] | {"protocol": "tern-hollow-district"})


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
