"""The visit book's first page: how the visit stands, and what wants doing next. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from shared.records.standing import Status


@dataclass(frozen=True, slots=True)
class Place:
    """One way on: the screen's name, its title, and what waits there."""

    screen: str
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class BookView:
    """``statuses`` are (word, count), only those that occur."""

    title: str
    about: str
    children: str
    fraction: float
    statuses: tuple[tuple[str, str], ...]
    places: tuple[Place, ...]
    protocol: str
    closed: bool


class BookPresenter(Presenter):
    """Reads the book anew whenever it is shown."""

    def view(self) -> BookView:
        """The screen as it stands."""
        t, desk = self.t, self.session.desk
        counts = desk.counts()
        total = sum(counts.values())
        seen = total - counts[Status.NOT_SEEN]
        days = ", ".join(phrases.short_date(t, day) for day in desk.dates)
        return BookView(
            title=desk.school,
            about=days,
            children=t("today.seen", seen=seen, total=total),
            fraction=seen / total if total else 0.0,
            statuses=tuple(
                (phrases.sign(status) + t(f"status.{status.value}"), str(count))
                for status, count in counts.items()
                if count
            ),
            places=tuple(self._places()),
            protocol=t("today.protocol", title=desk.protocol.title),
            closed=desk.office.closed,
        )

    def _places(self) -> list[Place]:
        t, desk = self.t, self.session.desk
        devices = desk.devices()
        back = sum(bool(device.device) for device in devices)
        doubts = len(desk.doubts())
        cases = desk.office.open_cases()
        overdue = sum(case.overdue for case in cases)
        followup = t("book.open_cases", count=len(cases))
        if overdue:
            followup += " · " + t("book.overdue", count=overdue)
        words = {
            "hand_out": t("book.handed_out", count=len(desk.tablets)),
            "gather": t("book.gathered", back=back, count=len(devices)),
            "doubts": t("book.doubts", count=doubts) if doubts else t("book.no_doubts"),
            "watch": t("book.watch"),
            "papers": t("book.papers"),
            "followup": followup,
            "counts": t("book.counts"),
            "roster": t("book.roster"),
        }
        return [Place(screen, t(f"{screen}.title"), said) for screen, said in words.items()]

    def close_visit(self) -> None:
        """Close the visit, or say what is still in the way."""
        desk, t = self.session.desk, self.t
        unfinished = desk.unfinished()
        if unfinished:
            self.session.tell(t("book.not_finished"), "\n".join(t.sentence(each) for each in unfinished))
            return
        self.session.ask(
            t("book.close_title"),
            t("book.close_words"),
            [(t("book.close"), "accent", self._close), (t("sheet.back"), "quiet", lambda: None)],
        )

    def _close(self) -> None:
        desk = self.session.desk
        if self.guarded(lambda: desk.office.close_visit(desk.unfinished())):
            self.changed()
