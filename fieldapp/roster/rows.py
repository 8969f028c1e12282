"""From a table's rows to children or reasons: every row becomes a row, a problem, or a counted blank line."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from fieldapp.roster.characters import listed
from fieldapp.roster.columns import Columns, columns_of
from fieldapp.roster.dates import Readings, column_order, implausible, readings
from fieldapp.roster.grades import read_grade
from fieldapp.roster.languages import read_language
from fieldapp.roster.lines import Line
from fieldapp.roster.people import (
    address_of,
    guardian_of,
    name_of,
    number_of,
    split_name,
    tidy,
    tidy_or_nothing,
    unfit_name,
    unfit_number,
)
from fieldapp.roster.reading import (
    READINGS,
    AmbiguousDates,
    DateOrder,
    NotARoster,
    RosterReading,
    RosterRow,
    RowProblem,
)
from shared.records.standing import Person

MOST_ROWS = 100_000  # five times the largest district list that the app is measured with
_CLOSING = re.compile(
    r"\W*(grand\s*total|sub\s*-?total|total|count|number of|records?|students?|end of|page|printed|report|"
    r"run date|generated|confidential|alumnos|estudiantes|fin de|pagina|página|impreso)\b",
    re.I,
)


class _Unfit(Exception):
    """One row's reason; caught in this file."""


@dataclass(slots=True)
class Table:
    """A header and the rows below it, kept as small as they can be."""

    columns: Columns
    lines: list[Line] = field(default_factory=list)
    blank_lines: int = 0
    sheet: str = ""

    @classmethod
    def below(cls, columns: Columns, lines: Iterable[Line], sheet: str = "") -> Table:
        """Take in the rows below a header; refuses more than a roster can have."""
        table = cls(columns, sheet=sheet)
        for line in lines:
            if line.blank:
                table.blank_lines += 1
                continue
            if len(table.lines) >= MOST_ROWS:
                raise NotARoster(
                    f"This file has more than {MOST_ROWS:,} rows.",
                    todo="Ask for the list of one school, or split the file.",
                )
            table.lines.append(line)
        return table

    def cells(self, name: str) -> list[str]:
        """The filled cells of one field's column, in order."""
        place = self.columns.places.get(name)
        if place is None:
            return []
        cells = (tidy_or_nothing(line.cells[place]) for line in self.lines if place < len(line.cells))
        return [cell for cell in cells if cell]


def read_rows(table: Table, *, today: date, date_order: DateOrder | None) -> RosterReading:
    """Read a table to its end. Raises ``AmbiguousDates`` where its birth dates need a person's word."""
    return _Reading(table, today, date_order).run()


class _Reading:
    """One pass over one table, and what it has met so far."""

    def __init__(self, table: Table, today: date, date_order: DateOrder | None) -> None:
        self.table = table
        self.columns = table.columns
        self.today = today
        self.order = date_order or self._decide_order()
        self.rows: list[RosterRow] = []
        self.problems: list[RowProblem] = []
        self.by_number: dict[str, RosterRow] = {}
        self.without_number: dict[Person, RosterRow] = {}
        self.unknown_grades: list[int] = []
        self.unknown_languages: list[int] = []
        self.no_birth_date: list[int] = []
        self.split_without_comma: list[int] = []
        self.titles = tuple(tidy(title).casefold() for title in table.columns.titles.values())

    def _decide_order(self) -> DateOrder | None:
        decided = column_order(self.table.cells("born"), self.today)
        if decided.doubt:
            raise AmbiguousDates(self.columns.title("born"), decided.doubt)
        return decided.order

    def run(self) -> RosterReading:
        for line in self.table.lines:
            try:
                row = RosterRow(line.number, self._person(line), self.table.sheet)
                self._refuse_duplicate(row)
            except _Unfit as unfit:
                self.problems.append(RowProblem(line.number, str(unfit), self.table.sheet))
            else:
                self.rows.append(row)
        return RosterReading(
            rows=self.rows,
            problems=self.problems,
            notes=self._notes(),
            columns=dict(self.columns.titles),
            blank_lines=self.table.blank_lines,
            data_lines=len(self.table.lines) + self.table.blank_lines,
        )

    def _person(self, line: Line) -> Person:
        if line.broken:
            raise _Unfit(f"The row cannot be read: {line.broken}.")
        fields = self.columns.pick(line.cells)
        number = number_of(fields.get("student_number", ""))
        given, family = self._names(line, fields)
        if why := unfit_number(number):
            raise _Unfit(f"The student number {why} (column '{self.columns.title('student_number')}').")
        if any(cell.strip() for cell in line.cells[self.columns.width :]):
            raise _Unfit(
                f"The row has {len(line.cells)} cells and the header {self.columns.width}; "
                "its columns may have slipped."
            )
        return Person(
            given=given,
            family=family,
            born=self._born(fields.get("born", ""), line.number),
            student_number=number,
            grade=self._grade(fields.get("grade", ""), line.number),
            class_name=tidy_or_nothing(fields.get("class_name", "")),
            language=self._language(fields.get("language", ""), line.number),
            guardian=guardian_of(fields),
            address=address_of(fields),
        )

    def _names(self, line: Line, fields: dict[str, str]) -> tuple[str, str]:
        if "name" in fields:
            whole = tidy(fields["name"])
            given, family = split_name(whole)
            if given and family and "," not in whole:
                self.split_without_comma.append(line.number)
        else:
            given = name_of(fields["given"])
            family = " ".join(
                filter(None, (name_of(fields["family"]), name_of(fields.get("second_family", ""))))
            )
        if not (given and family):
            raise _Unfit(self._nameless(line, given, family))
        if self._is_header(line):
            raise _Unfit("The header stands here again; no child.")
        for part, name in (("given", given), ("family", family)):
            if why := unfit_name(name):
                raise _Unfit(f"The {part} name {why} (column '{self._name_title(part)}').")
        return given, family

    def _nameless(self, line: Line, given: str, family: str) -> str:
        filled = [cell for cell in line.cells if cell.strip()]
        if _CLOSING.match(filled[0]) or (len(filled) > 1 and _CLOSING.match(filled[1])):
            return "A total or closing line; no child."
        if len(filled) == 1:
            return "Only one cell is filled; no child."
        missing = [f"{part} name" for part, name in (("given", given), ("family", family)) if not name]
        verb = "is" if len(missing) == 1 else "are"
        titles = dict.fromkeys(f"'{self._name_title(part.split()[0])}'" for part in missing)
        return f"The {' and the '.join(missing)} {verb} missing (column {' and '.join(titles)})."

    def _is_header(self, line: Line) -> bool:
        again = columns_of(line.cells)
        return again.complete and again.places == self.columns.places

    def _name_title(self, part: str) -> str:
        return self.columns.title("name" if "name" in self.columns.places else part)

    def _born(self, cell: str, number: int) -> str:
        text = tidy_or_nothing(cell)
        if not text:
            self.no_birth_date.append(number)
            return ""
        title = self.columns.title("born")
        found = readings(text, self.today)
        born = found.by(self.order)
        if born is None:
            raise _Unfit(self._unreadable_date(text, found, title))
        if why := implausible(born, self.today):
            raise _Unfit(f"The birth date {why} (column '{title}').")
        return born.isoformat()

    def _unreadable_date(self, text: str, found: Readings, title: str) -> str:
        if found.mdy is not None or found.dmy is not None:
            if self.order is None:
                return f"The birth date can be read in two ways (column '{title}')."
            return f"The birth date is no date when read {READINGS[self.order]} (column '{title}')."
        if re.fullmatch(r"\d{5}(\.\d+)?", text):
            return f"The birth date is a spreadsheet's day number, not a date (column '{title}')."
        kind = (
            "holds no digits"
            if not any(c.isdigit() for c in text)
            else "is no day of the calendar or is written unclearly"
        )
        return f"The birth date {kind} (column '{title}')."

    def _grade(self, cell: str, number: int) -> str:
        text = tidy_or_nothing(cell)
        grade = read_grade(text) if text else ""
        if grade is None:
            self.unknown_grades.append(number)
            return text[:20]
        return grade

    def _language(self, cell: str, number: int) -> str:
        text = tidy_or_nothing(cell)
        language = read_language(text) if text else ""
        if language is None:
            self.unknown_languages.append(number)
            return ""
        return language

    def _refuse_duplicate(self, row: RosterRow) -> None:
        person = row.person
        if not person.student_number:
            first = self.without_number.setdefault(person, row)
            if first is not row:
                raise _Unfit(f"The same row as line {first.line}; kept once.")
            return
        first = self.by_number.setdefault(person.student_number.casefold(), row)
        if first is row:
            return
        if first.person == person:
            raise _Unfit(f"The same row as line {first.line}; kept once.")
        same_child = (first.person.given, first.person.family) == (person.given, person.family)
        what = "with other details" if same_child else "with another name"
        raise _Unfit(
            f"The student number of line {first.line} stands here again {what}; line {first.line} was kept."
        )

    def _notes(self) -> list[str]:
        notes = []
        if self.columns.unused:
            notes.append(f"Columns not used: {', '.join(self.columns.unused)}.")
        if self.order and "born" in self.columns.places:
            notes.append(f"Dates in column '{self.columns.title('born')}' were read {READINGS[self.order]}.")
        for lines, what in (
            (self.no_birth_date, "Imported without a birth date"),
            (self.unknown_grades, "Imported with a grade that is not known here, as written"),
            (self.unknown_languages, "Imported without a home language, because it is not known here"),
            (self.split_without_comma, "Names without a comma were split after the first word"),
        ):
            if lines:
                notes.append(f"{what}: {listed(lines)}.")
        if self.table.blank_lines:
            notes.append(f"Blank lines: {self.table.blank_lines}.")
        return notes
