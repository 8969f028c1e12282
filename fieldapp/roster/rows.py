"""From tables to children or reasons: every row becomes a row, a problem, or is counted."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from fieldapp.roster.columns import plain_title
from fieldapp.roster.dates import Readings, column_order, implausible, order_in_title, readings
from fieldapp.roster.grades import read_grade
from fieldapp.roster.languages import read_language
from fieldapp.roster.lines import Line
from fieldapp.roster.people import (
    address_of,
    due_reasons_of,
    guardian_of,
    name_of,
    number_of,
    says_yes,
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
    RosterReading,
    RosterRow,
    RowProblem,
    listed,
)
from fieldapp.roster.shapes import check_columns, is_running_number
from fieldapp.roster.table import Table
from shared.hearing.due import EXEMPTIONS
from shared.records.standing import Person

_EXEMPT = "exempt_"  # begins the names of the columns that exempt a child
# A line that closes a list, where it names no child ...
_CLOSING = re.compile(
    r"\W*(grand|sub-?)?\s*(totale?s?|count|number|records?|students?|end|page|printed|report|run|generated|"
    r"confidential|alumnos|estudiantes|fin|p[aá]gina|impreso)\b",
    re.I,
)
# ... and one that cannot be a name even where two cells are filled.
_TOTAL = re.compile(
    r"\W*(grand\s*|sub\s*-?\s*)?(total(es)?|count|number)\W*(of|de|number|count|students?|children|pupils|"
    r"enroll\w+|alumnos|estudiantes|\d|$).*",
    re.I,
)


def _same_words(cell: str, title: str) -> bool:
    return cell[:1].casefold() == title[:1].casefold() and plain_title(cell) == plain_title(title)


class _Unfit(Exception):
    """One row's reason; never leaves this file."""


def read_rows(
    tables: Sequence[Table], *, today: date, date_order: DateOrder | None, school: str = ""
) -> RosterReading:
    """Read tables to their end, as one roster: a child listed twice is kept once.

    ``school`` keeps only the rows of that school where there is a school column. Raises ``NotARoster`` where
    columns are swapped and ``AmbiguousDates`` where the birth dates need a person's word.
    """
    whole = RosterReading([], [])
    seen = _Seen()
    for table in tables:
        part = _TableReader(table, seen, today, date_order, school).read()
        whole.rows.extend(part.rows)
        whole.problems.extend(part.problems)
        whole.notes.extend(f"Sheet {table.sheet}: {note}" if table.sheet else note for note in part.notes)
        whole.columns.update(part.columns)
        whole = replace(
            whole,
            blank_lines=whole.blank_lines + part.blank_lines,
            other_people=whole.other_people + part.other_people,
            data_lines=whole.data_lines + part.data_lines,
        )
    return whole


class _Seen:
    """The children met so far, over all tables."""

    def __init__(self) -> None:
        self.by_number: dict[str, RosterRow] = {}
        self.without_number: dict[Person, RosterRow] = {}

    def refuse_duplicate(self, row: RosterRow) -> None:
        """Note the child, or raise the reason why its row is a repetition."""
        person = row.person
        if person.student_number:
            first = self.by_number.setdefault(person.student_number.casefold(), row)
        else:
            first = self.without_number.setdefault(person, row)
        if first is row:
            return
        where = f"line {first.line}"
        if first.sheet != row.sheet:
            where += f" of sheet {first.sheet}"
        if first.person == person:
            raise _Unfit(f"The same row as {where}; kept once.")
        same = (first.person.given, first.person.family) == (person.given, person.family)
        what = "with other details" if same else "with another name"
        raise _Unfit(f"The student number of {where} stands here again {what}; {where} was kept.")


class _TableReader:
    """One pass over one table, and what it has met so far."""

    def __init__(
        self, table: Table, seen: _Seen, today: date, date_order: DateOrder | None, school: str
    ) -> None:
        self.table = table
        self.seen = seen
        self.today = today
        self.school = tidy(school).casefold()
        self.schools: Counter[str] = Counter()
        self.not_here = 0
        self.marks: dict[str, list[int]] = {}  # remark -> lines of imported rows
        self.orders: dict[str, DateOrder | None] = {}  # of the columns of exemptions
        self.columns = table.columns
        title = self.columns.titles.get("student_number")
        self.running = title is not None and is_running_number(title, table.cells("student_number"))
        if self.running:
            self.columns = self.columns.without("student_number")
        check_columns(self.columns, table.cells, today)
        self.order = date_order or self._decide_order()

    def _decide_order(self) -> DateOrder | None:
        decided = column_order(self.table.cells("born"), self.today)
        if not decided.doubt:
            return decided.order
        title = self.columns.title("born")
        asked_for = order_in_title(title)
        if asked_for is None:
            raise AmbiguousDates(title, decided.doubt)
        return asked_for

    def read(self) -> RosterReading:
        rows: list[RosterRow] = []
        problems: list[RowProblem] = list(self.table.problems)
        for line in self.table.lines:
            if self._is_elsewhere(line):
                self.not_here += 1
                continue
            remarks: list[str] = []
            try:
                row = RosterRow(line.number, self._person(line, remarks), self.table.sheet)
                self.seen.refuse_duplicate(row)
            except _Unfit as unfit:
                problems.append(RowProblem(line.number, str(unfit), self.table.sheet))
                continue
            rows.append(row)
            for remark in remarks:
                self.marks.setdefault(remark, []).append(line.number)
        return RosterReading(
            rows=rows,
            problems=sorted(problems, key=lambda problem: problem.line),
            notes=self._notes(),
            columns=dict(self.columns.titles),
            blank_lines=self.table.blank_lines,
            other_people=self.table.other_people + self.not_here,
            data_lines=self.table.data_lines,
        )

    def _is_elsewhere(self, line: Line) -> bool:
        """Whether the row lists a child of another school than the one that is asked for."""
        place = self.columns.places.get("school")
        name = tidy(line.cells[place]) if place is not None and place < len(line.cells) else ""
        if name:
            self.schools[name] += 1
        return bool(self.school and name and name.casefold() != self.school)

    def _person(self, line: Line, remarks: list[str]) -> Person:
        if line.broken:
            raise _Unfit(f"The row cannot be read: {line.broken}.")
        fields = self.columns.pick(line.cells)
        number = number_of(fields.get("student_number", ""))
        given, family = self._names(line, fields, remarks)
        if any(cell.strip() for cell in line.cells[self.columns.width :]):
            raise _Unfit(
                f"The row has more cells ({len(line.cells)}) than the header ({self.columns.width}); "
                "its columns may have slipped."
            )
        if why := unfit_number(number):
            raise _Unfit(f"The student number {why} (column '{self.columns.title('student_number')}').")
        grade = self._grade(fields, remarks)
        due_reasons, unclear = due_reasons_of(fields, grade)
        for field in unclear:
            remarks.append(f"Column '{self.columns.title(field)}' says neither yes nor no and was not used")
        return Person(
            given=given,
            family=family,
            born=self._born(fields, remarks),
            student_number=number,
            grade=grade,
            class_name=tidy_or_nothing(fields.get("class_name", "")),
            language=self._language(fields, remarks),
            guardian=guardian_of(fields),
            address=address_of(fields),
            due_reasons=due_reasons,
            exemptions=tuple(self._exemptions(fields, remarks)),
        )

    def _exemptions(self, fields: dict[str, str], remarks: list[str]) -> Iterator[str]:
        """What exempts the child by the roster, with the day of the paper where the cell is a date."""
        for reason in EXEMPTIONS:
            field = _EXEMPT + reason.replace("-", "_")
            text = fields.get(field, "")
            told = says_yes(text)
            given_on = readings(tidy(text), self.today).by(self._order_of(field)) if told is None else None
            if given_on is not None and given_on <= self.today:
                yield f"{reason} {given_on.isoformat()}"
            elif told:
                yield reason
            elif told is None:
                remarks.append(
                    f"Column '{self.columns.title(field)}' holds neither yes, no nor a day gone by and was not used"
                )

    def _order_of(self, field: str) -> DateOrder | None:
        """How the dates of a column are written: by its own cells, else by its title, else as the birth dates are."""
        if field not in self.orders:
            decided = column_order(self.table.cells(field), self.today).order
            self.orders[field] = decided or order_in_title(self.columns.title(field)) or self.order
        return self.orders[field]

    def _names(self, line: Line, fields: dict[str, str], remarks: list[str]) -> tuple[str, str]:
        if "name" in fields:
            given, family = split_name(fields["name"])
            if "," not in fields["name"]:
                remarks.append("The name has no comma and was split after its first word")
        else:
            given = name_of(fields["given"])
            second = name_of(fields.get("second_family", ""))
            family = " ".join(part for part in (name_of(fields["family"]), second) if part)
        filled = [tidy(cell) for cell in line.cells if cell.strip()]
        if len(filled) <= 2 < self.columns.width and _TOTAL.fullmatch(filled[0]):
            raise _Unfit("A total or closing line; no child.")
        if not (given and family):
            raise _Unfit(self._nameless(filled, given, family))
        if all(_same_words(fields[name], title) for name, title in self.columns.titles.items()):
            raise _Unfit("The header stands here again; no child.")
        for part, name in (("given", given), ("family", family)):
            if why := unfit_name(name):
                raise _Unfit(f"The {part} name {why} (column '{self._name_title(part)}').")
        return given, family

    def _nameless(self, filled: Sequence[str], given: str, family: str) -> str:
        if any(_CLOSING.match(cell) for cell in filled[:2]):
            return "A total or closing line; no child."
        if len(filled) == 1 and self.columns.width > 1:
            return "Only one cell is filled; no child."
        missing = [part for part, name in (("given", given), ("family", family)) if not name]
        titles = dict.fromkeys(f"'{self._name_title(part)}'" for part in missing)
        names = " and the ".join(f"{part} name" for part in missing)
        columns = "columns" if len(titles) > 1 else "column"
        return (
            f"The {names} {'are' if len(missing) > 1 else 'is'} missing ({columns} {' and '.join(titles)})."
        )

    def _name_title(self, part: str) -> str:
        return self.columns.title("name" if "name" in self.columns.places else part)

    def _born(self, fields: dict[str, str], remarks: list[str]) -> str:
        text = tidy_or_nothing(fields.get("born", ""))
        if not text:
            remarks.append("Imported without a birth date")
            return ""
        found = readings(text, self.today)
        born = found.by(self.order)
        why = implausible(born, self.today) if born else self._unreadable(text, found)
        if born is None or why:
            raise _Unfit(f"The birth date {why} (column '{self.columns.title('born')}').")
        return born.isoformat()

    def _unreadable(self, text: str, found: Readings) -> str:
        if found.undecided:
            return "can be read in two ways"
        if self.order and (found.mdy or found.dmy):
            return f"is no date when it is read {READINGS[self.order]}"
        if re.fullmatch(r"\d{5}(\.\d+)?", text):
            return "is a spreadsheet's day number and no date"
        if not any(character.isdigit() for character in text):
            return "holds no digit"
        return "is no day of the calendar, or is written in a way that is not known here"

    def _grade(self, fields: dict[str, str], remarks: list[str]) -> str:
        text = tidy_or_nothing(fields.get("grade", ""))
        grade = read_grade(text) if text else ""
        if grade is None:
            remarks.append("The grade is not known here and was kept as written")
            return text[:20]
        return grade

    def _language(self, fields: dict[str, str], remarks: list[str]) -> str:
        text = tidy_or_nothing(fields.get("language", ""))
        language = read_language(text) if text else ""
        if language is None:
            remarks.append("The home language is not known here and was left empty")
        return language or ""

    def _notes(self) -> list[str]:
        notes = list(self.table.notes)
        if self.columns.unused:
            notes.append(f"Columns not used: {', '.join(self.columns.unused)}.")
        if self.running:
            notes.append("The number column only counts the rows and was not taken as a student number.")
        if self.order and "born" in self.columns.places:
            notes.append(f"Dates in column '{self.columns.title('born')}' were read {READINGS[self.order]}.")
        if len(self.schools) > 1 and not self.school:
            notes.append(f"Children of {len(self.schools)} schools are listed; all were read.")
        if self.not_here:
            notes.append(f"Rows of other schools, left out: {self.not_here}.")
        notes += [f"{remark}: {listed(lines)}." for remark, lines in self.marks.items()]
        if self.table.blank_lines:
            notes.append(f"Blank lines: {self.table.blank_lines}.")
        return notes
