"""The book's children: by status, by class, by two letters of either name. No Kivy.

``kind`` narrows the list: a status, ``LEFT``, ``OWED`` (without a result), a column of the yearly counts (``COUNT``
before its name), or empty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from fieldapp.papers.yearly import RULES
from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.services.roll import MOST_ROWS, class_order, letters_after, rows_of
from shared.records.standing import Standing, Status

EVERYBODY, LEFT, OWED, COUNT = "", "left", "owed", "count:"


@dataclass(frozen=True, slots=True)
class ChildrenView:
    """``tiles`` are (key, words, count, chosen); ``rows`` what the list shows."""

    tiles: tuple[tuple[str, str, str, bool], ...]
    rows: list[dict[str, Any]]
    class_words: str
    found: str
    empty: str


class ChildrenPresenter(Presenter):
    """Keeps what was chosen and typed; a child's page comes back to just that."""

    typed = ""

    def enter(self, kind: str = EVERYBODY, class_name: str = "", typed: str = "", back: str = "book") -> None:
        self.kind, self.class_name, self.typed, self.back = kind, class_name, typed, back

    def choose(self, kind: str) -> None:
        """Another kind."""
        self.kind, self.typed = kind, ""
        self.changed()

    def choose_class(self, name: str) -> None:
        """One class, or all where ``name`` is empty."""
        self.class_name = name
        self.changed()

    def type(self, text: str) -> None:
        """What is in the search line now; it looks through everybody."""
        if text != self.typed:
            self.typed = text
            self.changed()

    @property
    def searching(self) -> bool:
        """Whether enough is typed to search by."""
        return len(self.typed.replace(" ", "")) >= 2

    def live(self) -> list[str]:
        """The letters that still lead to a child."""
        found = self._searched(self._everybody()) if self.searching else self._everybody()
        return letters_after(found, self.typed)

    def open(self, child: str) -> None:
        """The child's page."""
        here = {"kind": self.kind, "class_name": self.class_name, "typed": self.typed, "back": self.back}
        self.session.go("child", child=child, back=("children", here))

    def classes(self) -> list[str]:
        """Every class of the book."""
        names = {each.person.class_name for each in self.session.desk.standings()}
        return sorted((name for name in names if name), key=class_order)

    def view(self) -> ChildrenView:
        """The screen as it stands."""
        t = self.t
        chosen = self._searched(self._everybody()) if self.searching else self._of_kind(self.kind)
        rows = rows_of(chosen, None if self.searching else self.class_name or None, by_name=True)
        count = len(chosen)
        if not self.searching and self.class_name:
            count = sum(each.person.class_name == self.class_name for each in chosen)
        full = t("next_child.limit", count=MOST_ROWS) if count > MOST_ROWS else ""
        none = t("children.no_match", typed=self.typed.upper()) if self.searching else t("children.nobody")
        return ChildrenView(
            tiles=tuple(self._tiles()),
            rows=[self._row(each) for each in rows],
            class_words=self.class_name or t("children.all_classes"),
            found=t("children.found", count=count),
            empty=full if rows else none,
        )

    def _everybody(self) -> list[Standing]:
        """Also those who have left: a person looks them up too."""
        everybody: list[Standing] = self.session.desk.ledger.register.standings()
        return everybody

    def _searched(self, standings: Iterable[Standing]) -> list[Standing]:
        return rows_of(standings, None, self.typed, by_name=True, limit=len(self._everybody()))

    def _of_kind(self, kind: str) -> list[Standing]:
        desk = self.session.desk
        if kind == LEFT:
            return [each for each in self._everybody() if each.person.left]
        if kind == OWED:
            return list(desk.closing.without_result())
        fits: Callable[[Standing], bool] = lambda _each: True  # noqa: E731
        if kind.startswith(COUNT):
            fits = RULES[kind.removeprefix(COUNT)]
        elif kind:
            fits = lambda each: each.status.value == kind  # noqa: E731
        return [each for each in desk.standings() if fits(each)]

    def _tiles(self) -> Iterable[tuple[str, str, str, bool]]:
        t, desk = self.t, self.session.desk
        if self.kind == OWED or self.kind.startswith(COUNT):
            owed = t("papers.not-yet-screened-list")
            words = owed if self.kind == OWED else t(f"counts.{self.kind.removeprefix(COUNT)}")
            yield self.kind, words, str(len(self._of_kind(self.kind))), not self.searching
        counts = desk.counts()
        kinds = [(EVERYBODY, t("next_child.all"), sum(counts.values()))]
        kinds += [
            (status.value, phrases.sign(status) + t(f"status.{status.value}"), counts[status])
            for status in Status
        ]
        kinds.append((LEFT, t("children.left"), len(self._of_kind(LEFT))))
        for kind, words, count in kinds:
            if count or kind in (EVERYBODY, self.kind):
                yield kind, words, str(count), kind == self.kind and not self.searching

    def _row(self, standing: Standing) -> dict[str, Any]:
        person = standing.person
        parts = (person.class_name, phrases.short_date(self.t, person.born))
        return {
            "child": standing.child,
            "name": phrases.name_found(standing, self.typed),
            "born": " · ".join(part for part in parts if part),
            "status": phrases.status_line(self.t, standing),
            "waiting": False,
        }
