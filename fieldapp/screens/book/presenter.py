"""The visit book's first page: how the visit stands, and what wants doing next. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass

from fieldapp.screens import phrases, protocol_words
from fieldapp.screens.base import Presenter
from fieldapp.services.roll import tally


@dataclass(frozen=True, slots=True)
class Place:
    """One way on: the screen's name, its title, and what waits there."""

    screen: str
    title: str
    words: str


@dataclass(frozen=True, slots=True)
class BookView:
    """``statuses`` are (status, word, count), only those that occur; each leads to its children."""

    title: str
    about: str
    screened: str
    standing: str
    fraction: float
    statuses: tuple[tuple[str, str, str], ...]
    places: tuple[Place, ...]
    protocol: str


class BookPresenter(Presenter):
    """Reads the book anew whenever it is shown."""

    def view(self) -> BookView:
        """The screen as it stands."""
        t, desk = self.t, self.session.desk
        counts, told = desk.counts(), tally(desk.standings())
        days = ", ".join(phrases.short_date(t, day) for day in desk.dates)
        return BookView(
            title=desk.school,
            about=days,
            screened=t("book.screened", count=told.screened, total=told.total),
            standing=t.counted("book.standing", told.total),
            fraction=told.screened / told.total if told.total else 0.0,
            statuses=tuple(
                (status.value, phrases.sign(status) + t(f"status.{status.value}"), str(count))
                for status, count in counts.items()
                if count
            ),
            places=tuple(self._places()),
            protocol=t("today.protocol", title=protocol_words.title(t, desk.protocol)),
        )

    def _places(self) -> list[Place]:
        t, desk = self.t, self.session.desk
        devices = desk.devices()
        back = sum(bool(device.device) for device in devices)
        doubts = len(desk.doubts())
        cases = desk.followup.open_cases()
        overdue = sum(case.overdue for case in cases)
        followup = t("book.open_cases", count=len(cases))
        if overdue:
            followup += " · " + t("book.overdue", count=overdue)
        children = len(desk.standings())
        closing = "closed" if desk.closing.closed else "open"
        words = {
            "children": t("book.children", count=children),
            "hand_out": t("book.handed_out", count=len(desk.tablets)),
            "gather": t("book.gathered", back=back, count=len(devices)),
            "doubts": t("book.doubts", count=doubts) if doubts else t("book.no_doubts"),
            "watch": t("book.watch"),
            "papers": t("book.papers"),
            "followup": followup,
            "counts": t("book.counts"),
            "roster": t("book.roster"),
            "closing": t(f"book.{closing}"),
        }
        return [Place(screen, t(f"{screen}.title"), said) for screen, said in words.items()]
