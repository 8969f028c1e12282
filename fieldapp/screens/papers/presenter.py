"""Lists and letters: choose a paper, make it, see whom it is about, mark it as sent. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldapp.papers import PAPERS
from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.open_file import open_file
from fieldapp.services.printing import print_papers
from shared.records.entries import Entry, Kind

PAGE_SIZES = ("letter", "a4")


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


class PapersPresenter(Presenter):
    """``chosen`` is the open paper's name."""

    def enter(self) -> None:
        self.busy = False
        self.chosen = next(iter(PAPERS))
        self.page_size = PAGE_SIZES[0]
        self.language = self.session.settings.language
        self.made: dict[str, Any] = {}
        self.folder = (self.session.exchange or Path(self.session.store_path).parent) / "papers"

    def papers(self) -> list[tuple[str, str, bool]]:
        """(name, title, chosen) of every paper."""
        return [(name, self._title(name), name == self.chosen) for name in PAPERS]

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
        """Make the paper and save it."""
        if self.busy:
            return
        desk, name, folder = self.session.desk, self.chosen, self.folder
        page_size, language = self.page_size, self.language
        self.busy = True
        self.changed()

        def job() -> Any:
            folder.mkdir(parents=True, exist_ok=True)
            return print_papers(desk, folder, only=[name], page_size=page_size, language=language)

        self.session.work(job, self._made, self._failed)

    def _made(self, printed: Any) -> None:
        self.busy = False
        for paper in printed:
            self.made[paper.name] = paper
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
        """Look at the paper in the system's own viewer, which also prints."""
        made = self.made.get(self.chosen)
        if made is not None:
            open_file(made.path)

    def mark_sent(self) -> None:
        """Note for every child on the newest of these letters that it was sent."""
        issued, desk = self._issued(), self.session.desk
        if issued is None:
            return
        children = [str(child) for child in issued.body.get("children", ())]
        note = str(issued.body.get("number", ""))
        if self.guarded(lambda: desk.office.note_step(children, "sent", note=note)):
            self.session.tell(self.t("papers.marked", count=len(children)), "")
            self.changed()

    def view(self) -> PaperView:
        """The open paper."""
        t, issued, desk = self.t, self._issued(), self.session.desk
        made = self.made.get(self.chosen)
        letters = self.chosen.startswith(("letters", "examiner"))
        if issued is None:
            return PaperView(self._title(self.chosen), t("papers.never"), "", (), letters, False, "")
        people = desk.ledger.register.people()
        children = [str(child) for child in issued.body.get("children", ())]
        when = f"{phrases.short_date(t, issued.at)}, {phrases.clock_time(t, issued.at)}"
        warning = (
            t("papers.unprintable", names="; ".join(made.unprintable)) if made and made.unprintable else ""
        )
        return PaperView(
            title=self._title(self.chosen),
            words=t("papers.made", number=issued.body.get("number", ""), when=when, count=len(children)),
            file=t("papers.file", file=str(made.path), pages=made.pages) if made else "",
            children=tuple(phrases.name_listed(people[c]) for c in children if c in people),
            letters=letters,
            may_mark=letters and bool(children),
            warning=warning,
        )
