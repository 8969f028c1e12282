"""The year's counts by grade, as a table. No Kivy."""

from __future__ import annotations

from fieldapp.papers.yearly import COLUMNS, count_by_grade, total
from fieldapp.screens.base import Presenter
from fieldapp.screens.children.presenter import COUNT


class CountsPresenter(Presenter):
    """Rows are what is counted, columns are the grades: a tablet is wider than it is high, a list longer."""

    def table(self) -> tuple[list[str], list[tuple[str, str, list[int]]]]:
        """(heads, rows of (name, words, numbers)); the last column is all grades."""
        by_grade = count_by_grade(self.session.desk.standings())
        grades = list(by_grade)
        sums = total(by_grade)
        heads = [grade or self.t("next_child.no_class") for grade in grades] + [self.t("counts.all")]
        rows = [
            (name, self.t(f"counts.{name}"), [by_grade[grade][name] for grade in grades] + [sums[name]])
            for name in COLUMNS
        ]
        return heads, rows

    def open(self, name: str) -> None:
        """The children that one row counts."""
        self.session.go("children", kind=COUNT + name, back="counts")
