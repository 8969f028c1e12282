"""What is on the gallery's pictures: walks through every screen and state with the hand of ``demo.window``."""

from __future__ import annotations

import tempfile
import traceback
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from demo.gallery_doors import alarm, doors
from demo.gallery_visit import PASSPHRASE, GalleryVisit
from demo.window import Hand
from fieldapp.screens.session import Session
from fieldapp.screens.settings_file import Settings
from fieldapp.services.desk import Desk
from fieldapp.services.station import Station
from shared.errors import WriteRefused
from shared.vault import CHEAP, kind_of


class Stopwatch:
    """Time between taps, moved by hand."""

    def __init__(self) -> None:
        self.at = 0.0

    def __call__(self) -> float:
        self.at += 0.001
        return self.at

    def wait(self, seconds: float = 1.0) -> None:
        self.at += seconds


def take(
    out: Path | None, size: tuple[int, int, float], scale: float, language: str, names: list[str]
) -> int:
    """Take one set into a folder, or only judge it (``out`` None); gives 1 where there is a fault."""
    wide, high, density = size
    status = 0
    with tempfile.TemporaryDirectory() as scratch:
        for pictures in (screener, lead, beginning):
            folder = Path(scratch) / pictures.__name__
            folder.mkdir()
            visit = GalleryVisit(folder)
            watch = Stopwatch()

            def opened(path: str, passphrase: str, visit: GalleryVisit = visit) -> object:
                kind = Station if kind_of(path) == "tablet" else Desk
                return kind.open(Path(path), passphrase, clock=visit.clock)

            def prepared(path: str, passphrase: str, visit: GalleryVisit = visit, **more: Any) -> Desk:
                return Desk.prepare(Path(path), passphrase, clock=visit.clock, cost=CHEAP, **more)

            session = Session(
                opener=opened,
                store_path=str({screener: visit.store, lead: visit.book}.get(pictures, folder / "new.book")),
                prepare_book=prepared,
                clock=visit.clock.now,
                ticks=watch,
                settings=Settings(language=language, text_scale=scale),
                settings_path=folder / "settings.json",
                exchange=folder,
            )
            first = "welcome" if pictures is beginning else "unlock"
            hand = Hand(session, (wide, high), density, first)
            try:
                for name in pictures(hand, visit, watch):
                    hand.frames()  # also where no picture is taken, the screen is laid out before the next touch
                    if not names or any(name.startswith(start) for start in names):
                        if out is not None:
                            hand.photograph(out / f"{name}.png")
                        for fault in hand.faults():
                            print(f"{wide}x{high}-{scale}-{language}/{name}: {fault}")
                            status = 1
            except Exception:
                traceback.print_exc()
                if out is not None:
                    hand.photograph(out / "failed.png")
                status = 1
            hand.close()
    return status


def screener(hand: Hand, visit: GalleryVisit, watch: Stopwatch) -> Iterator[str]:
    """The tablet's screens."""
    session, stage = hand.session, hand.app.stage
    t = session.t

    def act() -> object:
        return stage.current.presenter

    yield "unlock"
    act().open("not this one", "MK")
    hand.until(lambda: not act().busy)
    yield "unlock-wrong"
    act().open(PASSPHRASE, "MK")
    hand.until(lambda: hand.screen == "today")
    yield "today-not-ready"
    session.go("readiness")
    yield "readiness-equipment-empty"
    yield from _readiness(hand)
    visit.morning(session.station)
    session.go("readiness")
    yield "readiness-as-last-time"
    session.go("today")
    yield "today"
    session.class_name = "3B"
    session.go("next_child")
    yield "list"
    stage.current.pad(True)
    yield "list-letters"
    act().type("we")
    yield "list-search"
    act().type("zz")
    yield "list-nobody"
    act().type("")
    act().open_class("4A")
    stage.current.pad(False)
    yield "list-scripts-and-long-names"
    act().open_class("4B")
    yield "list-more-scripts"
    act().open_class(None)
    yield "list-everyone"
    act().open_class("3B")
    rows = {row["name"]: row["child"] for row in act().view().rows}
    act().more(rows["Velloso, Amara"])
    yield "child-not-tested-because"
    hand.front.close()
    act().choose(rows["Abernethy, Lou"])
    yield "child-has-a-result"
    hand.front.close()
    yield from doors(hand, visit)
    session.go("add_child", typed="wetherell")
    yield "add-child"
    stage.current.ids.family.text = "Wetherall"
    stage.current.ids.given.text = "Toby"
    yield "add-child-alike"
    stage.current.choose_born()
    yield "add-child-born"
    hand.front.close()
    stage.current.choose_class()
    yield "add-child-class"
    hand.front.close()
    session.go("next_child")
    act().choose(rows["Velloso, Amara"])
    yield "walk-first-tone"
    yield from _walk(hand, watch)
    yield from _threshold(hand, visit, watch)
    session.go("settings")
    yield "settings"
    act().choose_pin()
    for sign in "2749":
        hand.front.press(sign)
    yield "settings-pin"
    hand.front.press("✓")
    yield "settings-pin-again"
    hand.front.close()
    session.screen_lock.set_pin("2749")
    session.go("today")
    stage.lock()
    act().press("1")
    act().open()
    yield "pin-wrong"
    for sign in "2749":
        act().press(sign)
    act().open()
    yield "today-again"
    session.go("give_back")
    yield "give-back"
    act().write()
    hand.until(lambda: act().written is not None)
    yield "give-back-done"
    act().ask_wipe()
    yield "give-back-wipe"
    for sign in "000000":
        act().press(sign)
    act().wipe()
    yield "give-back-wipe-refused"
    session.go("send")
    for sign in "192.168.43.1":
        act().press(sign)
    yield "send"
    session.menu()
    yield "menu"
    hand.front.close()
    session.card()
    yield "card-for-the-child"
    hand.front.close()
    yield from alarm(hand, visit, watch)
    while not session.screen_lock.needs_passphrase:
        session.screen_lock.try_pin("0000")
    stage.lock()
    yield "locked"
    assert not hand.sees("Velloso") and t


def _readiness(hand: Hand) -> Iterator[str]:
    session, act = hand.session, hand.app.stage.current.presenter
    for sign in "AM-04":
        act.press(sign)
    act.type_into("earphones")
    for sign in "EP-04":
        act.press(sign)
    yield "readiness-equipment"
    act.onward()
    yield "readiness-calibration"
    for part in ("2026", session.t("month.8"), "20"):
        hand.touch(part)
    yield "readiness-calibration-chosen"
    act.onward()
    for item, *_ in act.items()[:4]:
        act.tap_item(item)
    yield "readiness-inspection"
    for item, *_ in act.items()[4:]:
        act.tap_item(item)
    act.onward()
    for tone in act.tones[:4]:
        act.tap_tone(tone)
    yield "readiness-listening"
    for tone in act.tones[4:]:
        act.tap_tone(tone)
    act.onward()
    for level in (5, 10, 5, 5):
        act.choose_level(level)
    yield "readiness-own-thresholds"
    for level in (40, 40):
        act.choose_level(level)
    act.onward()
    for sign in "41":
        act.press_noise(sign)
    yield "readiness-noise"
    act.press_noise("⌫")
    act.press_noise("⌫")
    act.onward()
    yield "readiness-not-ready"
    act.open_step("own")
    for tone in act.tones[-2:]:
        act.ask(tone)
        act.choose_level(5)
    act.check()
    yield "readiness-ready"


def _walk(hand: Hand, watch: Stopwatch) -> Iterator[str]:
    stage, session = hand.app.stage, hand.session

    def answer(signs: str) -> None:
        for sign in signs:
            watch.wait()
            stage.current.presenter.answer(sign == "+")

    act: Callable[[], object] = lambda: stage.current.presenter  # noqa: E731
    answer("+")
    act().present()
    act().present()
    yield "walk-second-tone"
    answer("++")
    yield "walk-other-ear"
    for _ in range(4):
        act().present()
    yield "walk-four-presentations"
    act().ask_stop()
    yield "walk-stop"
    hand.front.close()
    answer("-++")
    yield "walk-reseat-due"
    watch.wait()
    act().reseat()
    answer("+")
    yield "walk-again"
    answer("++-++")
    yield "result-rescreen"
    act().note()
    yield "result-note"
    hand.front.close()
    watch.wait()
    act().begin_first()
    answer("++++++")
    yield "result-passed"
    watch.wait()
    act().begin_first()
    _full_disk(session)
    answer("+")
    yield "walk-disk-full"
    hand.front.close()
    session.station.ledger.write = _WRITE.pop()
    stage.current.presenter.stop(None)
    session.go("walk", practice=True)
    yield "practice"
    answer("++++++")
    yield "practice-over"
    session.change(hand="left")
    session.go("next_child")
    rows = stage.current.presenter.view().rows
    stage.current.presenter.choose(next(row["child"] for row in rows if row["waiting"]))
    answer("+")
    yield "walk-left-handed"
    session.change(hand="right", palette="stark")
    yield "walk-high-contrast"
    session.go("add_child")  # a line with the keyboard, and a button that cannot be pressed yet
    yield "add-child-high-contrast"
    session.go("walk")
    session.settings = replace(session.settings, palette="calm")
    session.restyle()
    stage.current.presenter.stop(None)


_WRITE: list[object] = []


def _full_disk(session: Session) -> None:
    ledger = session.station.ledger
    _WRITE.append(ledger.write)

    def refuse(*_drafts: object) -> None:
        raise WriteRefused(
            "The disk is full.", kept="Every answer before is kept.", todo="Free some space, then tap again."
        )

    ledger.write = refuse


def _threshold(hand: Hand, visit: GalleryVisit, watch: Stopwatch) -> Iterator[str]:
    session, stage = hand.session, hand.app.stage
    child = next(s.child for s in session.station.standings() if s.person.given == "Inés")
    session.class_name = "3B"
    session.go("next_child")
    stage.current.presenter.doors.ask_threshold(child)
    yield "threshold-which-ear"
    hand.front.close()
    session.station.begin_threshold_test(child)
    session.go("threshold")
    yield "threshold-first-level"
    hears = {"right": 15, "left": 45}
    for count in range(400):
        search = session.station.thresholds.current.search
        if search is None:
            break
        deaf = search.ear == "left" and search.hz >= 4000
        watch.wait()
        stage.current.presenter.answer(not deaf and search.level >= hears[search.ear])
        if count == 30:
            yield "threshold-under-way"
        if deaf and search.level >= 75 and count < 390:
            hears["left"] = 50
            if not getattr(visit, "loud_taken", False):
                visit.loud_taken = True  # type: ignore[attr-defined]
                yield "threshold-loud"
    yield "threshold-done"
    stage.current.presenter.finish()
    yield "threshold-result"


def beginning(hand: Hand, visit: GalleryVisit, watch: Stopwatch) -> Iterator[str]:
    """No store yet: the welcome, and preparing a visit."""
    from demo.gallery_beginning import pictures

    yield from pictures(hand, visit)


def lead(hand: Hand, visit: GalleryVisit, watch: Stopwatch) -> Iterator[str]:
    """The visit book's screens."""
    from demo.gallery_lead import pictures

    yield from pictures(hand, visit, watch)
