"""One child's tone walk as the screener sees it: which tone, what to turn, what has been answered. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldapp.screens import could_not, ear_signs, phrases
from fieldapp.screens.base import Presenter
from shared.hearing.tone_walk import Action, ToneWalk, WalkState
from shared.records.entries import EARS, Reason
from shared.records.standing import Standing

#: Two answers closer than this are one trembling thumb: a tone alone lasts a second.
BOUNCE_SECONDS = 0.3

STOP_REASONS = (Reason.COULD_NOT_TEST, Reason.EAR_PROBLEM, Reason.ABSENT, Reason.DECLINED, Reason.UNDER_CARE)
ASK_MORE = (Reason.COULD_NOT_TEST, Reason.EAR_PROBLEM)


@dataclass(frozen=True, slots=True)
class WalkView:
    """Everything on the screen. ``cells`` are (ear, column, stage, word)."""

    name: str = ""
    about: str = ""
    about_short: str = ""  # where the top line is the only place that can say which walk this is
    count: str = ""
    count_short: str = ""
    ear: str = "right"
    ear_title: str = ""
    hz: str = ""
    level: str = ""
    turn: str = ""
    presented: str = ""
    counting: bool = False  # this tone was presented, as far as one counts along
    conduct: str = ""
    conducts: tuple[str, ...] = ()  # all that can stand there, so that nothing below it ever moves
    limit: str = ""
    limits: tuple[str, ...] = ()  # likewise
    told: str = ""  # of these two, what must be said where there is no room for both
    columns: tuple[str, ...] = ()
    cells: tuple[tuple[str, int, str, str], ...] = ()
    may_undo: bool = False
    may_reseat: bool = False
    due: bool = False  # all tones answered, the retest after reseating is due
    due_words: str = ""


class WalkPresenter(Presenter):
    """Walks the child in hand; with ``practice`` a child that is nowhere recorded."""

    def __init__(self, session: Any) -> None:
        super().__init__(session)
        self.presentations = 0
        self.practice = False
        self._walk: Any = None
        self._answered_at = float("-inf")

    def enter(self, practice: bool = False, undo: bool = False) -> None:
        """``undo``: back from the end of the practice walk, whose last answer was a slip."""
        practised = self._walk if self.practice and practice and undo else None
        self.practice = practice
        self.presentations = 0
        self._answered_at = float("-inf")
        if practice:
            begun = ToneWalk.begin(self.session.station.visit.protocol)
            self._walk = practised.undo() if practised is not None and practised.actions else begun
            self.child, self._standing = "", None
            self._head = (self.t("walk.practice_name"), self.t("walk.practice"), "", "")
            return
        current = self.session.station.current
        if current is None:
            self.session.go("next_child")
            return
        self.child, self._walk = current
        station = self.session.station
        self._standing = station.standing(self.child)
        told = station.progress().tally
        self._head = (
            phrases.name_said(self._standing.person),
            phrases.about_child(self.t, self._standing, self.session.clock().date()),
            self.t("top.screened", screened=told.screened, total=told.total),
            self.t("top.screened_short", screened=told.screened, total=told.total),
        )
        self._settle()

    # -- what the screener does ------------------------------------------------------------------

    def answer(self, heard: bool) -> None:
        """Heard, or no response after the last presentation."""
        now = self.session.ticks()
        if self._walk is None or self._walk.step is None or now - self._answered_at < BOUNCE_SECONDS:
            return
        count = self.presentations
        if self._take(
            Action.HEARD if heard else Action.NO_RESPONSE, lambda: self.session.station.answer(heard, count)
        ):
            self._answered_at = now

    def present(self) -> None:
        """Count one more presentation of this tone."""
        most = self._walk.protocol.presentations
        if self._walk.step is not None:
            self.presentations = min(self.presentations + 1, most)
            self.changed()

    def undo(self) -> None:
        """Take the last answer or reseating back."""
        if self._walk is None or not self._walk.actions:
            return
        if self.practice:
            self._walk = self._walk.undo()
        elif not self.guarded(lambda: self._keep(self.session.station.undo())):
            return
        self.presentations = 0
        self.changed()

    def reseat(self) -> None:
        """The earphones were put on anew; every tone is walked again."""
        if self.session.ticks() - self._answered_at < BOUNCE_SECONDS:
            return  # the thumb that gave the last answer
        if self._walk is not None and self._walk.answers and not self._walk.reseated:
            self._take(Action.RESEAT, lambda: self.session.station.reseat())

    def finish(self) -> None:
        """Finish without the retest."""
        if self._walk is not None and self._walk.may_finish:
            self._finish()

    def stop(self, reason: Reason | None, note: str = "") -> None:
        """Break the child off, for a reason or for later."""
        if self.practice:
            self.session.go("today")
            return
        child = self.child
        if reason is Reason.EAR_PROBLEM:
            ear_signs.ask(self.session, child, self._looked)
            return
        if reason is Reason.COULD_NOT_TEST and not note:
            could_not.ask(self.session, child, lambda why: self.stop(reason, why))
            return
        if self.guarded(lambda: self.session.station.stop(reason, note)):
            if reason is None:
                self.session.go("next_child")
            else:
                self.session.go("result", child=child)

    def _looked(self, allowed: bool, _standing: Standing) -> None:
        """With a sign that stops, the child was broken off; with a harmless one it is noted and the walk goes on."""
        if not allowed:
            self.session.go("result", child=self.child)

    def ask_stop(self) -> None:
        """Ask why the child is to be stopped."""
        t = self.t
        if self.practice or not self._walk.answers:
            later = (t("stop.later"), "quiet", lambda: self.stop(None))
        else:
            later = (t("stop.later"), "quiet", lambda: self.stop(None, "later"))
        reasons = [
            (self._said(reason), "quiet", lambda reason=reason: self.stop(reason)) for reason in STOP_REASONS
        ]
        go_on = (t("stop.go_on"), "strong", lambda: None)
        self.session.ask(t("stop.title"), t("stop.words"), [*reasons, later, go_on])

    def _said(self, reason: Reason) -> str:
        """A reason to stop, called as everywhere else; with an ellipsis where more is asked then."""
        if reason is Reason.ABSENT:
            return self.t("stop.absent")
        text = self.t(f"status.{reason.value}").capitalize()
        return f"{text} …" if reason in ASK_MORE and not self.practice else text

    def _take(self, action: Action, record: Any) -> bool:
        if self.practice:
            self._walk = self._walk.take(action)
        elif not self.guarded(lambda: self._keep(record())):
            return False
        self.presentations = 0
        if not self._settle():
            self.changed()
        return True

    def _keep(self, walk: Any) -> None:
        self._walk = walk

    def _settle(self) -> bool:
        if self._walk.state is not WalkState.DONE:
            return False
        self._finish()
        return True

    def _finish(self) -> None:
        """The walk stays open on the result screen, so that a slip can be taken back until that is left."""
        if self.practice:
            self.session.go("result", practice=True)
            return
        self.session.go("result", child=self.child, open_walk=True)

    # -- what the screener sees ------------------------------------------------------------------

    def view(self) -> WalkView:
        """The screen as it stands."""
        walk = self._walk
        if walk is None:
            return WalkView()
        t, step, protocol = self.t, walk.step, walk.protocol
        name, about, count, count_short = self._head
        most = protocol.presentations
        columns = tuple(sorted(protocol.frequencies))
        shared: dict[str, Any] = {
            "name": name,
            "about": about,
            "about_short": f"{t('walk.second')} · {about}" if walk.reseated else about,
            "count": count,
            "count_short": count_short,
            "columns": tuple(f"{hz} Hz" for hz in columns),
            "cells": tuple(self._cells(columns)),
            "may_undo": bool(walk.actions),
        }
        if step is None:
            tones = phrases.hertz(t, walk.missed)
            return WalkView(
                **shared, due=walk.state is WalkState.RESEAT_DUE, due_words=t("walk.due_words", tones=tones)
            )
        reached = self.presentations >= most
        conducts = t("walk.conduct"), t("walk.again")
        limits = t("walk.limit", most=most), t("walk.limit_reached", most=most)
        conduct, limit = conducts[walk.reseated], limits[reached]
        return WalkView(
            **shared,
            ear=step.ear,
            ear_title=t(f"ear.{step.ear}_title"),
            hz=str(step.hz),
            level=t("walk.level", level=step.level_db_hl),
            turn=self._turn(step),
            presented=t("walk.presented", count=self.presentations, most=most),
            counting=self.presentations > 0,
            conduct=conduct,
            conducts=conducts,
            limit=limit,
            limits=limits,
            told=limit if reached else conduct if walk.reseated else "",
            may_reseat=not walk.reseated and bool(walk.answers),
        )

    def _turn(self, step: Any) -> str:
        """What to set on the audiometer, coming from the tone before."""
        t = self.t
        if step.index == 0:
            return t("walk.set_first", hz=step.hz, level=step.level_db_hl, ear=t(f"ear.{step.ear}"))
        ear, hz, level = self._walk.tones[step.index - 1]
        if ear != step.ear:
            key = "walk.stay_ear" if hz == step.hz else "walk.turn_ear"
            said = t(key, ear=t(f"ear.{step.ear}"), hz=step.hz)
        else:
            said = t("walk.turn_up" if step.hz > hz else "walk.turn_down", before=hz, hz=step.hz)
        if level != step.level_db_hl:
            said += ", " + t("walk.level_change", level=step.level_db_hl)
        return said

    def _cells(self, columns: tuple[int, ...]) -> Any:
        walk, step = self._walk, self._walk.step
        present = 2 if walk.reseated else 1
        answered = {(a.ear, a.hz): a.heard for a in walk.answers if a.walk == present}
        for ear in EARS:
            for at, hz in enumerate(columns):
                if step is not None and (ear, hz) == (step.ear, step.hz):
                    yield ear, at, "now", self.t("walk.now")
                elif (ear, hz) in answered:
                    heard = answered[ear, hz]
                    word = "walk.cell_heard" if heard else "walk.cell_missed"
                    yield ear, at, "done" if heard else "missed", self.t(word)
                else:
                    yield ear, at, "ahead", ""
