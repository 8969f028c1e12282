"""Lists and letters: choose a paper, look at its pages, make it, see whom it is about, mark it as sent. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldapp.papers import PAPERS
from fieldapp.platform.pages import can_show
from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.before_saving import ask_before_saving
from fieldapp.screens.files import broken_path
from fieldapp.screens.open_file import can_open, open_file
from fieldapp.services.printing import (
    PaperDrawn,
    PaperPrinted,
    draw,
    keep,
    lacks_letterhead,
    moved,
    must_be_warned,
)
from shared.records.entries import Entry, Kind

PAGE_SIZES = ("letter", "a4")
EVERY = 10  # children between two reports of how far a paper is


@dataclass(frozen=True, slots=True)
class PaperView:
    """The paper that is open: when it was last made and for whom."""

    title: str
    words: str
    file: str
    children: tuple[str, ...]
    letters: bool
    may_mark: bool
    warning: str
    making: str  # how far a paper in hand is; empty when none is
    show: str  # what the other button does: see the pages, or open the saved file where there is no preview
    may_show: bool


class PapersPresenter(Presenter):
    """``chosen`` is the open paper's name."""

    def enter(
        self, chosen: str = "", page_size: str = "", language: str = "", made: PaperPrinted | None = None
    ) -> None:
        self.busy = False
        self.chosen = chosen or next(iter(PAPERS))
        self.page_size = page_size or PAGE_SIZES[0]
        self.language = language or self.session.settings.language
        self.made: dict[str, PaperPrinted] = {made.name: made} if made else {}
        self._left = False
        self.far = ""
        self.previews = can_show()
        self.folder = (self.session.exchange or Path(self.session.store_path).parent) / "papers"

    def leave(self) -> None:
        self._left = True

    def papers(self) -> list[tuple[str, str, str]]:
        """(name, title, how many children are on it now) of every paper."""
        standings = self.session.desk.standings()
        return [
            (name, self._title(name), str(sum(map(paper.holds, standings))) if paper.holds else "")
            for name, paper in PAPERS.items()
        ]

    def _title(self, name: str) -> str:
        key = f"papers.{name}"
        return self.t(key) if self.t.has(key) else PAPERS[name].title

    def open(self, name: str) -> None:
        """Choose a paper."""
        self.chosen = name
        self.changed()

    def turn_page_size(self) -> None:
        """Letter or A4."""
        self.page_size = PAGE_SIZES[self.page_size == PAGE_SIZES[0]]
        self.changed()

    def turn_language(self) -> None:
        """Letters in the other language, where a child's home language does not say which."""
        self.language = "es" if self.language == "en" else "en"
        self.changed()

    def make(self) -> None:
        """Make the paper and save it, once everything that has to be asked before is answered."""
        if not self.busy:
            path = self.folder / f"{self.chosen}.pdf"
            ask_before_saving(self.session, self.chosen, path, self._make, self._place())

    def _unverified(self) -> bool:
        return must_be_warned(self.session.desk.protocol, self.chosen)

    def _make(self, path: Path) -> None:
        desk, drawing = self.session.desk, self._drawing()
        self._work(lambda: keep(desk, moved(drawing(), path)), self._made)

    def _drawing(self) -> Callable[[], PaperDrawn]:
        """What draws the paper that is chosen now, on the worker."""
        desk, name, folder = self.session.desk, self.chosen, self.folder
        page_size, language = self.page_size, self.language
        return lambda: draw(
            desk, name, folder, page_size=page_size, language=language, progress=self._progress
        )

    def _work(self, job: Callable[[], Any], then: Callable[[Any], None]) -> None:
        self.busy, self.far = True, ""
        self.changed()
        self.session.work(job, then, self._failed)

    def _progress(self, done: int, of_all: int) -> None:
        """Told by the worker, child by child."""
        if done % EVERY == 0:
            self.session.soon(lambda: self._say_how_far(done, of_all))

    def _say_how_far(self, done: int, of_all: int) -> None:
        if self.busy:
            self.far = self.t("papers.how_far", done=done, all=of_all)
            self.changed()

    def _made(self, printed: PaperPrinted) -> None:
        self.busy = False
        self.made[printed.name] = printed
        self.changed()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        self.session.trouble(error)
        self.changed()

    def _issued(self) -> Entry | None:
        entries = self.session.desk.ledger.register.entries(Kind.PAPER_ISSUED)
        mine = [entry for entry in entries if entry.body.get("paper") == self.chosen]
        return max(mine, key=lambda entry: entry.stamp, default=None)

    def show(self) -> None:
        """See the pages before anything is saved; without a preview, the saved file in the system's own viewer."""
        made = self.made.get(self.chosen)
        if self.previews and not self.busy:
            self._work(self._drawing(), self._look)
        elif made is not None:
            open_file(made.path)

    def _look(self, paper: PaperDrawn) -> None:
        self.busy = False
        if self._left:  # locked meanwhile: no name may come back to the screen
            return
        self.session.go("preview", paper=paper, title=self._title(paper.name), back=self._place())

    def _place(self) -> dict[str, Any]:
        """What brings this screen back as it is."""
        return {
            "chosen": self.chosen,
            "page_size": self.page_size,
            "language": self.language,
            "made": self.made.get(self.chosen),
        }

    def letterhead(self) -> None:
        """Fill in who sends the letters."""
        self.session.go("letterhead", back=self._place())

    def mark_sent(self) -> None:
        """Note for every child on the newest of these letters that it was sent."""
        issued, desk = self._issued(), self.session.desk
        if issued is None:
            return
        children = [str(child) for child in issued.body.get("children", ())]
        note = str(issued.body.get("number", ""))
        if self.guarded(lambda: desk.followup.note_step(children, "sent", note=note)):
            self.session.tell(self.t("papers.marked", count=len(children)), "")
            self.changed()

    def view(self) -> PaperView:
        """The open paper."""
        t, issued, desk = self.t, self._issued(), self.session.desk
        made = self.made.get(self.chosen)
        letters = self.chosen.startswith(("letters", "examiner"))
        warnings = [t("papers.unverified")] if self._unverified() else []
        if lacks_letterhead(desk, self.chosen):
            warnings.append(t("papers.no_letterhead"))
        if not self.previews:
            warnings.append(t("papers.no_preview"))
        making = (self.far or t("papers.making")) if self.busy else ""
        show = t("papers.see") if self.previews else t("papers.show")
        may_show = not self.busy and (self.previews or (made is not None and can_open()))
        if issued is None:
            words, warning = t("papers.never"), "\n\n".join(warnings)
            return PaperView(
                self._title(self.chosen), words, "", (), letters, False, warning, making, show, may_show
            )
        people = desk.ledger.register.people()
        children = [str(child) for child in issued.body.get("children", ())]
        when = f"{phrases.short_date(t, issued.at)}, {phrases.clock_time(t, issued.at)}"
        if made and made.unprintable:
            warnings.append(t("papers.unprintable", names="; ".join(made.unprintable)))
        return PaperView(
            title=self._title(self.chosen),
            words=t("papers.made", number=issued.body.get("number", ""), when=when, count=len(children)),
            file=t("papers.file", file=broken_path(made.path.resolve()), pages=made.pages) if made else "",
            children=tuple(phrases.name_listed(people[c]) for c in children if c in people),
            letters=letters,
            may_mark=letters and bool(children),
            warning="\n\n".join(warnings),
            making=making,
            show=show,
            may_show=may_show,
        )
