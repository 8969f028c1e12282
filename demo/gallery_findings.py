"""The pictures of an examiner's audiogram: typed in, checked, saved, corrected."""

from __future__ import annotations

from collections.abc import Iterator

from demo.window import Hand
from fieldapp.screens.findings.draft import AFTER, MASKED, NO_RESPONSE
from shared.records.standing import Status

#: What is typed: column by column, a level for each frequency, "" where the examiner measured none.
RIGHT_AIR = ("", "35", "", "40", "", "40", "45", "50", "", "55")
LEFT_AIR = ("", "75 M", "", "80 M", "", "90", "", "110 NR M", "", "")
RIGHT_BONE = ("", "10", "", "15 M", "", "35", "", "50")


def pictures(hand: Hand) -> Iterator[str]:
    """From the question what came back to the audiogram in the child's record."""
    session, stage = hand.session, hand.app.stage
    child = next(each.child for each in session.desk.standings() if each.status is Status.EAR_PROBLEM)
    session.go("followup")
    stage.current.presenter.open(child)
    stage.current.presenter._ask_how(child)
    yield "findings-how"
    hand.front.close()
    hand.front.close()
    session.go("findings", child=child)
    yield "findings-empty"
    act = stage.current.presenter
    _type(act, "right", "air", RIGHT_AIR)
    yield "findings-one-column"
    _type(act, "left", "air", LEFT_AIR)
    _type(act, "right", "bone", RIGHT_BONE)
    act.open_column("left", "air")
    act.choose(4000)
    yield "findings-typed"
    act.open_column("right", "bone")
    act.choose(3000)
    for sign in "37":
        act.press(sign)
    yield "findings-no-such-level"
    act.press("⌫")
    act.press("⌫")
    act.onward()
    yield "findings-about"
    stage.current.ids.examiner.text = "R. Oduya, county hearing clinic"
    stage.current.ids.note.text = "Right ear towards the teacher; next visit in May"
    act.choose_earphones("insert")
    stage.current.choose_day()
    yield "findings-day"
    hand.front.close()
    act.set(examined="2026-09-11")
    yield "findings-ready-to-save"
    act.save()
    yield "findings-shown"
    shown = stage.current.presenter
    shown.ask_take_out()
    yield "findings-take-out"
    hand.front.close()
    shown.correct()
    shown.press("5")
    shown.go_back()
    yield "findings-unsaved"
    hand.front.close()
    session.go("followup")
    stage.current.presenter.open(child)
    yield "findings-in-the-follow-up"
    hand.front.close()


def _type(act: object, ear: str, conduction: str, levels: tuple[str, ...]) -> None:
    """One column, as the pad's keys type it."""
    act.open_column(ear, conduction)  # type: ignore[attr-defined]
    act.choose(250)  # type: ignore[attr-defined]
    for level in levels:
        digits, *marks = level.split() or [""]
        for sign in (*digits, *(mark for mark in marks if mark in (MASKED, NO_RESPONSE)), AFTER):
            act.press(sign)  # type: ignore[attr-defined]
