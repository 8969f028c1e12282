"""Closing the visit: what is still in the way, a word on each tablet, and who has no result. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.children.presenter import OWED
from fieldapp.services.closing import Aside, TabletState
from shared.records.standing import Standing, Status

NAMES_SHOWN = 120


@dataclass(frozen=True, slots=True)
class TabletLine:
    """One tablet: ``ways`` are (what may be said of it, words); "expect" takes it back."""

    key: str
    name: str
    words: str
    ways: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ClosingView:
    """``names`` are (class, the names of its children without a result, one a line)."""

    tablets: tuple[TabletLine, ...]
    doubts: str
    without: str
    names: tuple[tuple[str, str], ...]
    more: str
    said: str
    closed: bool
    may_close: bool


class ClosingPresenter(Presenter):
    """Reads the book anew after every word on a tablet."""

    def view(self) -> ClosingView:
        """The screen as it stands."""
        t, closing = self.t, self.session.desk.closing
        doubts, owed = len(self.session.desk.doubts()), closing.without_result()
        left, closed = closing.unfinished(), closing.closed
        more = len(owed) - NAMES_SHOWN
        said = "closed" if closed else "in_the_way" if left else "may_close"
        return ClosingView(
            tablets=tuple(map(self._tablet, sorted(closing.tablets(), key=_came_back))),
            doubts=t("closing.doubts", count=doubts) if doubts else "",
            without=t("closing.without", count=len(owed)) if owed else t("closing.nobody"),
            names=tuple(self._classes(owed[:NAMES_SHOWN])),
            more=t("papers.more", count=more) if more > 0 else "",
            said=t(f"closing.{said}"),
            closed=closed,
            may_close=not left and not closed,
        )

    def _tablet(self, state: TabletState) -> TabletLine:
        t = self.t
        ways: tuple[tuple[str, str], ...]
        if state.aside is not None:
            words, ways = t(f"closing.is_{state.aside.value}"), (("expect", t("closing.expect")),)
        else:
            missing = t.counted("closing.missing", state.missing) if state.missing else t("closing.whole")
            words = missing if state.gave_back else t("gather.silent")
            ways = tuple((why.value, t(f"closing.say_{why.value}")) for why in state.may_be)
        return TabletLine(state.name, phrases.tablet(t, state.name), words, ways)

    def _classes(self, owed: list[Standing]) -> list[tuple[str, str]]:
        return [
            (name or self.t("next_child.no_class"), "\n".join(map(self._name, children)))
            for name, children in groupby(owed, lambda each: each.person.class_name)
        ]

    def _name(self, standing: Standing) -> str:
        name = phrases.name_listed(standing.person)
        return f"{name} ({self.t('status.absent')})" if standing.status is Status.ABSENT else name

    def say(self, tablet: str, what: str) -> None:
        """Say something of a tablet, or take it back."""
        closing = self.session.desk.closing
        act = (
            (lambda: closing.expect_again(tablet))
            if what == "expect"
            else (lambda: closing.set_aside(tablet, Aside(what)))
        )
        if self.guarded(act):
            self.changed()

    def show_owed(self) -> None:
        """All children without a result, on the screen where one looks them up."""
        self.session.go("children", kind=OWED, back="closing")

    def close(self) -> None:
        """Ask once more, with the number of children who stay without a result."""
        t, owed = self.t, len(self.session.desk.closing.without_result())
        words = t("closing.close_words")
        self.session.ask(
            t("closing.close_title"),
            f"{t.counted('closing.without_stay', owed)} {words}" if owed else words,
            [(t("closing.close"), "accent", self._close), (t("sheet.back"), "back", lambda: None)],
        )

    def _close(self) -> None:
        if self.guarded(self.session.desk.closing.close):
            self.changed()

    def reopen(self) -> None:
        """Take the closing back."""
        if self.guarded(self.session.desk.closing.reopen):
            self.changed()


def _came_back(state: TabletState) -> bool:
    """Those that did not come back whole stand first, and stay there whatever is said of them: otherwise the next one
    would move under the finger."""
    return state.gave_back and not state.missing and state.aside is None
