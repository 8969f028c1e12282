"""One child's page: what it says, and the ways to correct the child's data, follow it up and decide. No Kivy."""

from __future__ import annotations

from typing import Any

from fieldapp.roster.dates import OLDEST, YOUNGEST
from fieldapp.screens.base import Presenter
from fieldapp.screens.child.page import ChildView, child_view, shown
from fieldapp.services.child_data import FieldsRefused
from shared.errors import QuietbellError
from shared.records.standing import Standing


class ChildPresenter(Presenter):
    """``back`` is the screen that the page was opened from, with its arguments."""

    def enter(self, child: str, back: tuple[str, dict[str, Any]] = ("children", {})) -> None:
        self.child, self.back = child, back

    @property
    def standing(self) -> Standing:
        """Where the child stands now."""
        standing: Standing = self.session.desk.ledger.register.standing(self.child)
        return standing

    def view(self) -> ChildView:
        """The screen as it stands."""
        return child_view(self.t, self.session.desk, self.standing, self.session.clock().date())

    def go_back(self) -> None:
        """To where the page was opened from."""
        screen, arguments = self.back
        self.session.go(screen, **arguments)

    def correct(self, field: str) -> None:
        """Ask for the right value; a bad one is refused in the sheet, with the reason."""
        t = self.t
        label = t("child_page.address_label" if field == "address" else f"child_page.{field}")
        self.session.ask_text(
            t("child_page.correct", field=t(f"child_page.{field}")),
            label,
            t("child_page.keep"),
            lambda _words: self.changed(),
            text=shown(self.t, self.standing.person, field),
            check=lambda words: self.keep(field, words),
        )

    def keep(self, field: str, words: str) -> str:
        """Write the correction down; gives what is wrong with the words, or nothing."""
        try:
            self.session.desk.office.correct(self.child, {field: words})
        except FieldsRefused as refused:
            reason = refused.fields[field]
            return " ".join(self.t.sentence(part) for part in (reason.happened, reason.todo) if part)
        except QuietbellError as error:  # of the disk: shown as everywhere
            self.session.trouble(error)
        return ""

    def took_born(self, iso: str) -> None:
        """A birth date was chosen."""
        wrong = self.keep("born", iso)
        if wrong:
            self.session.tell(wrong, "")
        self.changed()

    def years(self) -> list[int]:
        """The birth years that can be chosen, youngest first."""
        year = self.session.clock().date().year
        return list(range(year - YOUNGEST, year - OLDEST - 1, -1))

    def follow_up(self) -> None:
        """Note a step of the follow-up, as on the follow-up screen."""
        from fieldapp.screens.followup.presenter import FollowupPresenter

        followup = FollowupPresenter(self.session)
        followup.changed = self.changed
        followup.back = ("child", {"child": self.child, "back": self.back})
        followup.open(self.child)

    def decide(self) -> None:
        """The first doubt about this child."""
        doubts = self.view().doubts
        if doubts:
            self.session.go("doubts", doubt=doubts[0][0])
