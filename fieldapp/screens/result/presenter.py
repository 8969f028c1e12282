"""What the walk came to and what happens next, in words; and the next child, one tap away. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass

from fieldapp.screens import ear_signs, phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.doors import Doors
from shared.records.standing import Standing, Status

#: A finger that was still answering must not choose the next child.
GUARD_SECONDS = 0.6
OFFERED = 3


@dataclass(frozen=True, slots=True)
class ResultView:
    """Title and words of the result; ``following`` are (child, name) of the next in the class."""

    name: str = ""
    about: str = ""
    count: str = ""
    title: str = ""
    words: str = ""
    caution: str = ""
    heading: str = ""
    following: tuple[tuple[str, str], ...] = ()
    may_undo: bool = False
    may_note: bool = False
    again: str = ""  # the offer to repeat a threshold test that is not to be relied upon
    other: str = ""


class ResultPresenter(Presenter):
    """``open_walk``: the walk is not closed yet, so that its last answer can be taken back.

    It is closed when this screen is left: for the next child, the list, the menu, or by locking.
    """

    child = ""
    practice = False
    open_walk = False

    def enter(
        self, child: str = "", practice: bool = False, open_walk: bool = False, measured: bool = False
    ) -> None:
        """``measured``: a threshold test of the child has just been ended."""
        self.child, self.practice = child, practice
        self._kept = self.t("result.measured") if measured else ""
        in_hand = None if practice else self.session.station.current
        # A screen that is built anew (the tablet was turned) comes here a second time, its walk closed.
        self.open_walk = open_walk and in_hand is not None and in_hand[0] == child
        self._shown_at = self.session.ticks()
        self._following: tuple[tuple[str, str], ...] = ()
        if practice:
            return
        station = self.session.station
        # A whole walk counts although it is not closed yet, so this is the result that the child will have.
        self._standing: Standing = station.standing(child)
        self.class_name = self._standing.person.class_name
        rows = station.rows(self.session.class_open or self.class_name, limit=OFFERED + 1)
        self._following = tuple(
            (row.child, phrases.name_listed(row.person))
            for row in rows
            if station.waits(row) and row.child != child
        )[:OFFERED]
        progress = station.progress()
        told = progress.tally
        self._count = self.t("top.screened", screened=told.screened, total=told.total)

    def leave(self) -> None:
        if self.open_walk and self.session.station is not None:
            self._close_walk()

    def _close_walk(self) -> None:
        """Close the walk; from here on it stands."""
        if not self.open_walk or self.session.station is None:
            return
        self.open_walk = False
        if self.guarded(self.session.station.finish):
            self._standing = self.session.station.standing(self.child)
        self.changed()

    def undo(self) -> None:
        """Take the last answer back and go on with the walk."""
        if self.practice:
            self.session.go("walk", practice=True, undo=True)
            return
        if not self.open_walk:
            return
        self.open_walk = False
        if self.guarded(self.session.station.undo):
            self.session.go("walk")

    def note(self) -> None:
        """Write a few words about the child."""
        if not self.practice:
            self.session.note(self.child, self._noted)

    def _noted(self) -> None:
        self._kept = self.t("result.noted")
        self.changed()

    def test_again(self) -> None:
        """Repeat the threshold test, which stays on record beside the new one."""
        doors = Doors(self.session)
        if self.session.station.ready.open:
            doors.ask_threshold(self.child)
        else:
            doors.closed()

    def begin(self, child: str) -> None:
        """The next child."""
        if self.session.ticks() - self._shown_at < GUARD_SECONDS:
            return
        self._close_walk()
        Doors(self.session).choose(child)

    def begin_first(self) -> None:
        """The next child of the class, or the list where the class is done."""
        if self._following:
            self.begin(self._following[0][0])
        else:
            self.choose()

    def choose(self) -> None:
        """Back to the list."""
        if self.session.ticks() - self._shown_at >= GUARD_SECONDS:
            if self.session.class_name is None and not self.practice:
                self.session.class_name = self.class_name  # the class that this screen names
            self.session.go("today" if self.practice else "next_child")

    def view(self) -> ResultView:
        """The screen as it stands."""
        t = self.t
        if self.practice:
            return ResultView(
                t("walk.practice_name"),
                t("walk.practice"),
                "",
                t("result.practice"),
                t("result.practice_words"),
                may_undo=True,
                other=t("readiness.today"),
            )
        standing = self._standing
        title, words, caution = self._outcome(standing)
        words = "\n".join(filter(None, (self._unreliable, words, self._kept)))
        name = self.session.class_open or self.class_name
        return ResultView(
            name=phrases.name_said(standing.person),
            about=standing.person.class_name,
            count=self._count,
            title=title,
            words=words,
            caution=caution,
            heading=t("result.in_class", name=name) if self._following else t("result.class_done", name=name),
            following=self._following,
            may_undo=self.open_walk,
            may_note=True,
            again=t("result.test_again") if self._unreliable else "",
            other=t("result.other"),
        )

    def _outcome(self, standing: Standing) -> tuple[str, str, str]:
        t, status = self.t, standing.status
        caution = t("result.not_diagnosis")
        if status is Status.PASSED:
            if standing.governing is not None and standing.governing.missed:
                return t("result.passed_some"), t("result.passed_some_words"), caution
            return t("result.passed"), t("result.passed_words"), ""
        tones = phrases.hertz(t, standing.governing.missed) if standing.governing else ""
        if status is Status.RESCREEN:
            return (
                t("result.rescreen"),
                f"{t('result.missed', tones=tones)}\n{self._window(standing)}",
                caution,
            )
        if status is Status.THRESHOLD:
            return (
                t("result.threshold"),
                f"{t('result.missed', tones=tones)}\n{t('result.threshold_words')}",
                caution,
            )
        if status is Status.REFERRED:
            return (
                t("result.referred"),
                f"{t('result.missed', tones=tones)}\n{t('result.referred_words')}",
                caution,
            )
        reason = t(f"status.{status.value}")
        key = f"result.words_{status.value}"
        words = [t(key) if t.has(key) else "", ear_signs.words(self.session, standing.signs, standing.ears)]
        return t("result.not_tested", reason=reason), "\n".join(filter(None, words)), ""

    @property
    def _unreliable(self) -> str:
        """That the newest threshold test is not to be relied upon, where that is so."""
        tests = self._standing.thresholds
        disagreed = tests[-1].disagreed if tests else ()
        return self.t("threshold.unreliable", tones=phrases.hertz(self.t, disagreed)) if disagreed else ""

    def _window(self, standing: Standing) -> str:
        if standing.window is None:
            return self.t("result.window_none")
        first, last = (phrases.short_date(self.t, day or "") for day in standing.window)
        if not last:
            return self.t("result.window_open", first=first)
        return self.t("result.window", first=first, last=last)
