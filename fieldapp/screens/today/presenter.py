"""Today: how far the day is, what is left in each class, whether the station may test. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases, protocol_words
from fieldapp.screens.base import Presenter


@dataclass(frozen=True, slots=True)
class TodayView:
    """``classes`` are (name, words, done)."""

    title: str
    about: str
    seen: str
    fraction: float
    others: str
    pace: str
    ready: bool
    ready_words: str
    check: str
    protocol: str
    caution: str
    start: str
    may_start: bool
    classes: tuple[tuple[str, str, bool], ...]


class TodayPresenter(Presenter):
    """Reads everything anew whenever it is shown."""

    def enter(self) -> None:
        self.session.station.remember("today")

    def start(self) -> None:
        """On to the work: the child in hand, the list, or the readiness check where it is due."""
        station = self.session.station
        if station.current is not None:
            self.session.go("walk")
        elif station.thresholds.current is not None:
            self.session.go("threshold")
        elif station.ready.open:
            self.session.go("next_child")
        else:
            self.session.go("readiness")

    def _start(self) -> str:
        station = self.session.station
        in_hand = station.current[0] if station.current is not None else None
        if in_hand is None and station.thresholds.current is not None:
            in_hand = station.thresholds.current.child
        if in_hand is None:
            return self.t("today.start")
        return self.t("next_child.in_hand_go", name=phrases.name_said(station.standing(in_hand).person))

    def _check(self, ready: Any) -> str:
        """The way to the readiness check: what is asked for, or doing once more what is done already."""
        if self.session.station.short_check is not None:
            return self.t("next_child.asked_go")
        return self.t("today.check_again" if ready.open else "today.check")

    def open_class(self, name: str) -> None:
        """The list of one class."""
        self.session.go("next_child", class_name=name)

    def _others(self, progress: Any) -> str:
        """Who was not screened, each kind by its own word: an absent child is still owed a test, a declined one not."""
        told = progress.tally
        left = [phrases.left(self.t, progress.left)] if progress.left else []
        parts = (("absent", told.absent), ("not_tested", told.not_tested))
        return " · ".join(left + [self.t(f"today.{kind}", **{kind: count}) for kind, count in parts if count])

    def view(self) -> TodayView:
        """The screen as it stands."""
        t, station = self.t, self.session.station
        visit, progress, ready = station.visit, station.progress(), station.ready
        pace = t("today.no_rate")
        told = progress.tally
        if told.total and not progress.left:
            pace = t("today.all_done")
        elif progress.per_hour is not None:
            pace = " · ".join(
                (
                    t("today.rate", rate=round(progress.per_hour)),
                    t("today.finish", time=phrases.clock_time(t, progress.finish_at)),
                )
            )
        if ready.open:
            time = phrases.clock_time(t, ready.since)
            words = t("today.ready", time=time, level=ready.level_db_hl)
        elif ready.faults:
            words = " ".join(map(t.sentence, (ready.why_closed, *ready.faults)))
        elif station.short_check is not None:
            words = f"{t('next_child.asked_title')} {t.sentence(ready.asked)}"
        else:
            words = " ".join(t.sentence(each) for each in (ready.why_closed, ready.asked) if each)
        today = self.session.clock().date()
        return TodayView(
            title=t("today.title"),
            about=f"{visit.school} · {phrases.short_date(t, today.isoformat())}",
            seen=t("today.screened", screened=told.screened, total=told.total),
            fraction=told.screened / told.total if told.total else 0.0,
            others=self._others(progress),
            pace=pace,
            ready=ready.open,
            ready_words=words,
            check=self._check(ready),
            protocol=t("today.protocol", title=protocol_words.title(t, visit.protocol)),
            caution="" if visit.protocol.verified else t("today.unverified"),
            start=self._start(),
            may_start=ready.open or station.current is not None or station.thresholds.current is not None,
            classes=tuple(
                (
                    count.name,
                    phrases.left(t, count.left),
                    not count.left,
                )
                for count in station.classes()
            ),
        )
