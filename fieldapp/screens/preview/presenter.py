"""A paper's pages before it is printed: which page, how large, then save or print. No Kivy.

The paper is in memory and its pages become pictures in memory; all of it is forgotten when the screen is left. Only
the page in sight and the one after it are ever drawn, so that a paper of many hundred pages opens at once.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldapp.platform.pages import Pages, Picture, open_pages
from fieldapp.screens.base import Presenter
from fieldapp.screens.before_saving import ask_before_saving
from fieldapp.screens.open_file import can_open, open_file
from fieldapp.services.printing import PaperDrawn, PaperPrinted, keep, moved, must_be_warned

#: How wide a page is: as the whole page fits the screen, as wide as the screen, and larger than that.
WHOLE, ACROSS = 0, 1
LARGER = (1.0, 1.0, 1.5, 2.2)
WIDEST = 2400  # pixels: 30 MB for one picture
MOST = 64 * 1024 * 1024  # bytes of pictures that are kept


@dataclass(frozen=True, slots=True)
class PreviewView:
    """What the screen says beside the page."""

    title: str
    page: str
    first: bool
    last: bool
    smallest: bool
    largest: bool
    said: str  # where it was saved, or what to know before it is
    saved: bool
    may_print: bool


class PreviewPresenter(Presenter):
    """``page`` counts from 0; ``picture`` is the page as it is shown, or None while it is drawn."""

    def enter(self, paper: PaperDrawn, title: str = "", back: dict[str, Any] | None = None) -> None:
        self.paper, self.title, self.back = paper, title, back or {}
        self.page, self.size = 0, WHOLE
        self.room = (0, 0)
        self.saved: PaperPrinted | None = None
        self.busy, self._left = False, False
        self._pages: Pages | None = None
        self._wanted: list[tuple[int, int]] = []
        self._kept: OrderedDict[tuple[int, int], Picture] = OrderedDict()
        self.count, self.shape = 0, 1.3
        pdf = paper.made.pdf
        self.session.aside(lambda: open_pages(pdf), self._opened, self._failed)

    def leave(self) -> None:
        """Everything that was drawn is forgotten."""
        pages, self._pages, self._wanted = self._pages, None, []
        self._left, self.count = True, 0
        self._kept.clear()
        if pages is not None:
            self.session.aside(pages.close, lambda _none: None, lambda _error: None)

    def go_back(self) -> None:
        """To the papers, with the same one chosen."""
        self.session.go("papers", **self.back)

    # -- which page, how large ------------------------------------------------------------------

    def turn(self, by: int) -> None:
        """So many pages on, or back."""
        self.go_to(self.page + by)

    def go_to(self, page: int) -> None:
        """That page, or the nearest there is."""
        page = max(0, min(self.count - 1, page))
        if page != self.page and self.count:
            self.page = page
            self._draw()

    def ask_page(self) -> None:
        """Ask for a page by its number."""
        if self.count > 1:
            t = self.t
            label = t("preview.which", pages=self.count)
            self.session.ask_text(
                t("preview.go_to"),
                label,
                t("preview.go"),
                self._typed,
                check=lambda words: "" if words.isdecimal() else label,
            )

    def _typed(self, words: str) -> None:
        if words.isdecimal():
            self.go_to(int(words) - 1)

    def resize(self, by: int) -> None:
        """Larger or smaller by a step."""
        size = max(0, min(len(LARGER) - 1, self.size + by))
        if size != self.size:
            self.size = size
            self._draw()

    def fit(self, wide: float, high: float) -> None:
        """The room that there is for a page, in pixels."""
        if self.room != (int(wide), int(high)):
            self.room = (int(wide), int(high))
            self._draw()

    def wide(self) -> int:
        """How many pixels wide a page is shown."""
        across, down = self.room
        whole = min(across, down / self.shape)
        return max(1, min(WIDEST, int(whole if self.size == WHOLE else across * LARGER[self.size])))

    @property
    def picture(self) -> Picture | None:
        """The page in sight, once it is drawn."""
        return self._kept.get((self.page, self.wide()))

    # -- drawing --------------------------------------------------------------------------------

    def _opened(self, pages: Pages) -> None:
        if self._left:  # or locked, meanwhile
            self.session.aside(pages.close, lambda _none: None, lambda _error: None)
            return
        self._pages, self.count, self.shape = pages, pages.count, pages.shape
        self._draw()

    def _draw(self) -> None:
        """Ask for the page in sight and the one after it; whatever else was asked for is no longer wanted."""
        pages = self._pages
        if pages is not None and min(self.room) > 0:
            wide = self.wide()
            self._wanted = [(page, wide) for page in (self.page, self.page + 1) if page < self.count]
            for wanted in self._wanted:
                if wanted not in self._kept:
                    self.session.aside(
                        lambda wanted=wanted: pages.picture(*wanted) if wanted in self._wanted else None,
                        lambda picture, wanted=wanted: self._drawn(wanted, picture),
                        self._failed,
                    )
        self.changed()

    def _drawn(self, wanted: tuple[int, int], picture: Picture | None) -> None:
        if picture is None or wanted not in self._wanted:
            return
        self._kept[wanted] = picture
        while sum(len(each.pixels) for each in self._kept.values()) > MOST and len(self._kept) > 1:
            oldest = next(each for each in self._kept if each != (self.page, self.wide()))
            del self._kept[oldest]
        if wanted[0] == self.page:
            self.changed()

    def _failed(self, error: Exception) -> None:
        if self._left:
            return
        self.busy = False
        self.session.trouble(error)
        self.changed()

    # -- save and print -------------------------------------------------------------------------

    def save(self) -> None:
        """Save the paper as it is shown, once everything that has to be asked before is answered."""
        self._ask(self._keep)

    def print_it(self) -> None:
        """Save it and hand it to the system's own viewer, which prints."""
        if self.saved is not None:
            open_file(self.saved.path)
        else:
            self._ask(lambda path: self._keep(path, then_print=True))

    def _ask(self, act: Callable[[Path], Any]) -> None:
        if not self.busy and self.saved is None:
            ask_before_saving(self.session, self.paper.name, self.paper.made.path, act, self.back)

    def _keep(self, path: Path, then_print: bool = False) -> None:
        desk, paper = self.session.desk, moved(self.paper, path)
        self.busy = True
        self.changed()

        def kept(printed: PaperPrinted) -> None:
            self.busy, self.saved = False, printed
            self.back = {**self.back, "made": printed}
            if then_print:
                open_file(printed.path)
            self.changed()

        self.session.work(lambda: keep(desk, paper), kept, self._failed)

    def view(self) -> PreviewView:
        """What stands beside the page."""
        t = self.t
        warned = must_be_warned(self.paper.context.protocol, self.paper.name)
        unprintable = self.paper.unprintable
        said = [t("papers.unprintable", names="; ".join(unprintable))] if unprintable else []
        if self.saved is not None:
            said.append(t("preview.saved", file=str(self.saved.path.resolve())))
        elif warned:
            said.append(t("papers.unverified"))
        if not can_open():
            said.append(t("preview.no_viewer"))
        return PreviewView(
            title=self.title,
            page=t("preview.page", page=self.page + 1, pages=self.count) if self.count else "",
            first=self.page == 0,
            last=self.page >= self.count - 1,
            smallest=self.size == 0,
            largest=self.size == len(LARGER) - 1 or self.wide() >= WIDEST,
            said="\n\n".join(said),
            saved=self.saved is not None,
            may_print=can_open(),
        )
