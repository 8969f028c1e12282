"""A threshold test as the screener sees it: which level to give, what came of it, the audiogram so far. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.walk.presenter import BOUNCE_SECONDS
from shared.hearing.examination import Reading
from shared.records.entries import EARS
from shared.records.standing import Threshold

WHY = {"routine": "routine", "retest": "retest", "redo": "redo", "between octaves": "between"}


@dataclass(frozen=True, slots=True)
class ThresholdView:
    """Everything on the screen. ``found`` and ``hand`` are for the audiogram."""

    name: str = ""
    about: str = ""
    ear: str = "right"
    ear_title: str = ""
    hz: str = ""
    level: str = ""
    why: str = ""
    tally: str = ""
    loud: str = ""
    done: bool = False
    may_undo: bool = False
    found: tuple[Reading, ...] = ()
    hand: tuple[str, int, int] | None = None
    words: tuple[tuple[str, str], ...] = ()  # (ear, thresholds in words) once done
    unreliable: str = ""  # which tones did not agree with their retest, once done


class ThresholdPresenter(Presenter):
    """The test in hand, each presentation durable before the screen moves on."""

    def enter(self) -> None:
        self._testing = self.session.station.thresholds
        self._now = self._testing.current
        self._answered_at = float("-inf")
        if self._now is None:
            self.session.go("next_child")
            return
        standing = self.session.station.standing(self._now.child)
        about = (standing.person.class_name, self.t("status.threshold"))
        self._head = (phrases.name_said(standing.person), " · ".join(filter(None, about)))

    def answer(self, heard: bool) -> None:
        """Heard or not at the level shown."""
        now = self.session.ticks()
        if self._now is None or self._now.search is None or now - self._answered_at < BOUNCE_SECONDS:
            return
        if self.guarded(lambda: self._keep(self._testing.answer(heard))):
            self._answered_at = now
            self.changed()

    def undo(self) -> None:
        """Take the last presentation back."""
        if (
            self._now is not None
            and self._now.given
            and self.guarded(lambda: self._keep(self._testing.undo()))
        ):
            self.changed()

    def ask_stop(self) -> None:
        """Stop before every tone is found."""
        t = self.t
        self.session.ask(
            t("threshold.stop_title"),
            t("threshold.stop_words"),
            [
                (t("threshold.stop_now"), "quiet", self.finish),
                (t("stop.go_on"), "strong", lambda: None),
            ],
        )

    def finish(self) -> None:
        """Close the test and write the thresholds down."""
        if self._now is None:
            return
        child = self._now.child
        if self.guarded(self._testing.finish):
            self._now = None
            self.session.go("result", child=child, measured=True)

    def _keep(self, now: Any) -> None:
        self._now = now

    def view(self) -> ThresholdView:
        """The screen as it stands."""
        now, t = self._now, self.t
        if now is None:
            return ThresholdView()
        found = tuple(
            Threshold(ear, hz, one.threshold_db_hl, one.limit_db_hl).reading
            for ear, tones in now.plan.thresholds().items()
            for hz, one in tones.items()
        )
        name, about = self._head
        search, tone = now.search, now.plan.next
        if search is None or search.level is None:
            return ThresholdView(
                name,
                about,
                done=True,
                found=found,
                may_undo=now.given > 0,
                unreliable=self._unreliable(now.plan.disagreed),
                words=tuple((ear, words) for ear in EARS if (words := self._words(ear, found))),
            )
        heard, given = search.tally(search.level)
        why = WHY.get(str(tone.purpose.value), "routine") if tone is not None else "routine"
        return ThresholdView(
            name,
            about,
            ear=search.ear,
            ear_title=t(f"ear.{search.ear}_title"),
            hz=str(search.hz),
            level=t("threshold.next", level=search.level),
            why=t(f"threshold.{why}"),
            tally=t("threshold.tally", heard=heard, given=given) if given else "",
            loud=t("threshold.loud") if search.loud else "",
            may_undo=now.given > 0,
            found=found,
            hand=(search.ear, search.hz, search.level),
        )

    def _unreliable(self, disagreed: tuple[tuple[str, int], ...]) -> str:
        return (
            str(self.t("threshold.unreliable", tones=phrases.hertz(self.t, disagreed))) if disagreed else ""
        )

    def _words(self, ear: str, found: tuple[Reading, ...]) -> str:
        t = self.t
        return "\n".join(
            t(
                "threshold.found",
                hz=each.hz,
                level=t("threshold.no_response_at", limit=each.level_db_hl)
                if each.no_response
                else t("threshold.level", level=each.level_db_hl),
            )
            for each in found
            if each.ear == ear
        )
