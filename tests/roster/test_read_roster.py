"""Whole rosters as schools send them: what is imported, what is a problem, what is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from fieldapp.roster import AmbiguousDates, NotARoster, RosterReading, read_roster
from fieldapp.roster.reading import DateOrder
from shared.errors import Refused
from shared.hearing.due import DUE_REASONS
from shared.records.standing import Person

TODAY = date(2026, 10, 12)
Read = Callable[..., RosterReading]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    def reader(
        content: str | bytes, *, date_order: DateOrder | None = None, school: str = ""
    ) -> RosterReading:
        file = tmp_path / "roster.csv"
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
        reading = read_roster(file, date_order=date_order, today=TODAY, school=school)
        counted = len(reading.rows) + len(reading.problems) + reading.blank_lines + reading.other_people
        assert counted == reading.data_lines
        return reading

    return reader


def persons(reading: RosterReading) -> list[Person]:
    return [row.person for row in reading.rows]


def test_every_column(read: Read) -> None:
    reading = read(
        "Student ID,Last Name,First Name,DOB,Grade,Homeroom,Home Language,Parent/Guardian,Mailing Address,Bus\n"
        '00712,Brook,Ann,5/23/2017,01,1B,Spanish,Bea Brook,"12 Mill Road, Oldton, XX 01234",7\n'
    )
    assert persons(reading) == [
        Person(
            given="Ann",
            family="Brook",
            born="2017-05-23",
            student_number="00712",
            grade="1",
            class_name="1B",
            language="es",
            guardian="Bea Brook",
            address=("12 Mill Road", "Oldton, XX 01234"),
        )
    ]
    assert reading.rows[0].line == 2
    assert reading.columns["born"] == "DOB"
    assert "Columns not used: Bus." in reading.notes


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_encodings_and_line_ends(read: Read, delimiter: str, codec: str, end: str) -> None:
    rows = [
        ["Matrícula", "Apellidos", "Nombre", "Fecha de nacimiento", "Grado"],
        ["1", "Núñez", "José", "23/05/2017", "1º"],
        ["2", "Peña", "Íñigo", "04/06/2016", "2do"],
    ]
    reading = read((end.join(delimiter.join(row) for row in rows) + end).encode(codec))
    assert persons(reading) == [
        Person(given="José", family="Núñez", born="2017-05-23", student_number="1", grade="1"),
        Person(given="Íñigo", family="Peña", born="2016-06-04", student_number="2", grade="2"),
    ]


def test_the_comma_inside_cells_does_not_win_over_the_semicolon(read: Read) -> None:
    reading = read("Name;DOB;Address\nBrook, Ann;2017-05-23;1 Mill Road, Apt 2, Oldton, XX 01234\n")
    assert [(p.given, p.family) for p in persons(reading)] == [("Ann", "Brook")]


def test_lines_above_the_header_blank_lines_and_a_total_below(read: Read) -> None:
    reading = read(
        "Quillmarsh School,,,\nStudent Listing,,,\n\nLast Name,First Name,DOB,Grade\n"
        "Brook,Ann,2017-05-23,2\n,,,\n\nHill,Bob,2016-01-02,3\nLast Name,First Name,DOB,Grade\n"
        "Field,Cy,2016-03-04,3\nTotal students: 3,,,\nTotal,3,,\n"
    )
    assert [row.line for row in reading.rows] == [5, 8, 10]
    assert reading.blank_lines == 2
    assert [(problem.line, problem.reason) for problem in reading.problems] == [
        (9, "The header stands here again; no child."),
        (11, "A total or closing line; no child."),
        (12, "A total or closing line; no child."),
    ]
    assert "Rows above the header, passed over: 3." in reading.notes


def test_a_child_whose_name_is_a_closing_word_is_imported(read: Read) -> None:
    reading = read(
        "Last Name,First Name,DOB\nPage,Ann,2017-05-23\nCount,Bob,2016-01-02\nNull,Cy,2016-03-04\n"
    )
    assert [p.family for p in persons(reading)] == ["Page", "Count", "Null"]


def test_a_quoted_line_break_keeps_the_line_numbers(read: Read) -> None:
    reading = read(
        'Last Name,First Name,Address\nBrook,Ann,"1 Mill Road\nOldton, XX 01234"\nHill,Bob,2 Elm Way\n,Cy,3 Oak\n'
    )
    assert [row.line for row in reading.rows] == [2, 4]
    assert reading.rows[0].person.address == ("1 Mill Road", "Oldton, XX 01234")
    assert reading.problems[0].line == 5


class TestDates:
    HEADER = "Last Name,First Name,DOB\n"

    def test_one_row_decides_for_all(self, read: Read) -> None:
        reading = read(self.HEADER + "Brook,Ann,03/04/2017\nHill,Bob,23/05/2016\n")
        assert [p.born for p in persons(reading)] == ["2017-04-03", "2016-05-23"]
        assert "Dates in column 'DOB' were read day first." in reading.notes

    def test_a_column_that_nothing_decides_is_asked_about(self, read: Read) -> None:
        roster = self.HEADER + "Brook,Ann,03/04/2017\nHill,Bob,05/06/2016\n"
        with pytest.raises(AmbiguousDates) as raised:
            read(roster)
        assert raised.value.column == "DOB"
        assert raised.value.readings == ("mdy", "dmy")
        assert isinstance(raised.value, Refused)
        assert "month first (mdy) or day first (dmy)" in str(raised.value)
        assert [p.born for p in persons(read(roster, date_order="mdy"))] == ["2017-03-04", "2016-05-06"]
        assert [p.born for p in persons(read(roster, date_order="dmy"))] == ["2017-04-03", "2016-06-05"]

    def test_the_title_may_say_it(self, read: Read) -> None:
        rows = "Brook,Ann,03/04/2017\nHill,Bob,05/06/2016\n"
        assert persons(read("Last Name,First Name,DOB (mm/dd/yyyy)\n" + rows))[0].born == "2017-03-04"
        assert (
            persons(read("Apellidos,Nombre,Fecha de nacimiento (dd/mm/aaaa)\n" + rows))[0].born
            == "2017-04-03"
        )

    def test_a_missing_birth_date_is_imported_and_told(self, read: Read) -> None:
        reading = read(self.HEADER + "Brook,Ann,\nHill,Bob,N/A\nMoor,Di,2017-05-23\n")
        assert [p.born for p in persons(reading)] == ["", "", "2017-05-23"]
        assert "Imported without a birth date: lines 2 and 3." in reading.notes

    @pytest.mark.parametrize(
        ("cell", "reason"),
        [
            ("2031-05-23", "The birth date lies in the future (column 'DOB')."),
            ("1956-05-23", "The birth date would make the child older than 22 (column 'DOB')."),
            ("2026-01-05", "The birth date would make the child younger than 2 (column 'DOB')."),
            ("2017-02-30", "The birth date is no day of the calendar"),
            ("23/05/2017", "The birth date is no date when it is read month first (column 'DOB')."),
            ("42878", "The birth date is a spreadsheet's day number and no date (column 'DOB')."),
            ("soon", "The birth date holds no digit (column 'DOB')."),
        ],
    )
    def test_a_birth_date_that_cannot_be_is_a_problem(self, read: Read, cell: str, reason: str) -> None:
        good = "".join(f"Brook,{name},05/23/2017\nHill,{name},01/02/2017\n" for name in "ABCDEFGHIJK")
        reading = read(self.HEADER + good + f"Moor,Di,{cell}\n")
        assert [(problem.line, problem.reason.startswith(reason)) for problem in reading.problems] == [
            (24, True)
        ]

    def test_a_word_from_a_person_is_kept_to(self, read: Read) -> None:
        reading = read(self.HEADER + "Brook,Ann,23/05/2017\nHill,Bob,05/06/2016\n", date_order="mdy")
        assert [row.line for row in reading.rows] == [3]
        assert [problem.line for problem in reading.problems] == [2]


class TestRowsThatAreNotTaken:
    HEADER = "Student ID,Last Name,First Name,DOB,Grade\n"

    def problems(self, read: Read, rows: str) -> list[tuple[int, str]]:
        return [(problem.line, problem.reason) for problem in read(self.HEADER + rows).problems]

    def test_missing_names(self, read: Read) -> None:
        rows = "1,,,2017-05-23,2\n2,Hill,,2017-05-23,2\n3,,Cy,2017-05-23,2\n4,Moor\n5,Reed,Eve,2017-05-23,2\n"
        assert self.problems(read, rows) == [
            (2, "The given name and the family name are missing (columns 'First Name' and 'Last Name')."),
            (3, "The given name is missing (column 'First Name')."),
            (4, "The family name is missing (column 'Last Name')."),
            (5, "The given name is missing (column 'First Name')."),
        ]

    def test_repeated_rows_and_numbers_are_kept_once(self, read: Read) -> None:
        rows = (
            "1,Brook,Ann,2017-05-23,2\n1,Brook,Ann,2017-05-23,02\n1,Brook,Ann,2017-05-24,2\n1,Hill,Bob,2016-01-02,3\n"
            ",Field,Cy,2016-03-04,3\n,Field,Cy,2016-03-04,3\n,Field,Cyd,2016-03-04,3\n"
        )
        assert self.problems(read, rows) == [
            (3, "The same row as line 2; kept once."),
            (4, "The student number of line 2 stands here again with other details; line 2 was kept."),
            (5, "The student number of line 2 stands here again with another name; line 2 was kept."),
            (7, "The same row as line 6; kept once."),
        ]

    def test_twins_are_two_children(self, read: Read) -> None:
        assert self.problems(read, "1,Brook,Ann,2017-05-23,2\n2,Brook,Bob,2017-05-23,2\n") == []

    def test_slipped_columns(self, read: Read) -> None:
        rows = "1,Brook,Jr.,Ann,2017-05-23,2\n2,Hill,Bob,2017-05-23,2\n"
        assert self.problems(read, rows) == [
            (2, "The row has more cells (6) than the header (5); its columns may have slipped.")
        ]

    def test_a_stray_quotation_mark(self, read: Read) -> None:
        rows = '1,"Brook,Ann,2017-05-23,2\n2,Hill,Bob,2017-05-23,2\n'
        assert self.problems(read, rows) == [
            (2, "The row cannot be read: a quotation mark is opened and not closed.")
        ]

    def test_a_number_that_a_spreadsheet_rounded(self, read: Read) -> None:
        assert self.problems(read, "1.23E+11,Brook,Ann,2017-05-23,2\n2,Hill,Bob,2017-05-23,2\n") == [
            (2, "The student number was rounded by a spreadsheet (column 'Student ID').")
        ]

    def test_a_name_that_is_none(self, read: Read) -> None:
        assert self.problems(
            read, "1,#REF!,Ann,2017-05-23,2\n2,Hill,Tel 5550199,2017-05-23,2\n3,A,B,,\n"
        ) == [
            (2, "The family name is a spreadsheet's error mark (column 'Last Name')."),
            (3, "The given name holds a number (column 'First Name')."),
        ]


def test_what_is_imported_with_a_remark(read: Read) -> None:
    reading = read(
        "Last Name,First Name,Grade,Home Language\nBrook,Ann,Blue group,Klingon\nHill,Bob,2,es\nMoor,Di,3,\n"
    )
    assert [(p.grade, p.language) for p in persons(reading)] == [("Blue group", ""), ("2", "es"), ("3", "")]
    assert "The grade is not known here and was kept as written: line 2." in reading.notes
    assert "The home language is not known here and was left empty: line 2." in reading.notes


def test_columns_that_make_a_child_due(read: Read) -> None:
    reading = read(
        "Last Name,First Name,Grade,New Student,Teacher Concern,IEP\nBrook,Ann,4,✓,no,☐\nHill,Bob,4,,asks again,Sí\n"
        "Moor,Di,UG,0,-,soon\n"
    )
    # The words are the keys that protocol presets use for reasons to be due.
    assert [p.due_reasons for p in persons(reading)] == [
        ("new",),
        ("concern", "special-education"),
        ("special-ungraded",),
    ]
    assert set(DUE_REASONS) >= {reason for p in persons(reading) for reason in p.due_reasons}
    assert "Column 'IEP' says neither yes nor no and was not used: line 4." in reading.notes


def test_one_column_for_the_name(read: Read) -> None:
    reading = read('Student,Grade\n"Brook, Ann",2\n"Hill, Bob",3\nCy Field,3\n"Moor,",3\n')
    assert [(p.given, p.family) for p in persons(reading)] == [
        ("Ann", "Brook"),
        ("Bob", "Hill"),
        ("Cy", "Field"),
    ]
    assert "The name has no comma and was split after its first word: line 4." in reading.notes
    assert str(reading.problems[0]) == "Line 5: The given name is missing (column 'Student')."


def test_two_family_names(read: Read) -> None:
    reading = read("Primer apellido,Segundo apellido,Nombre(s)\nGarcía,Núñez,María José\nPeña,,Íñigo\n")
    assert [(p.given, p.family) for p in persons(reading)] == [
        ("María José", "García Núñez"),
        ("Íñigo", "Peña"),
    ]


def test_a_column_that_only_counts_is_no_student_number(read: Read) -> None:
    reading = read("No.,Last Name,First Name\n1,Brook,Ann\n2,Hill,Bob\n3,Moor,Di\n1,Reed,Eve\n2,Ford,Flo\n")
    assert [p.student_number for p in persons(reading)] == [""] * 5
    assert "The number column only counts the rows and was not taken as a student number." in reading.notes


def test_one_school_of_several(read: Read) -> None:
    roster = "School,Last Name,First Name\nOldton,Brook,Ann\nNewton,Hill,Bob\n"
    assert "Children of 2 schools are listed; all were read." in read(roster).notes
    reading = read(roster, school="oldton")
    assert [row.line for row in reading.rows] == [2]
    assert reading.other_people == 1
    with pytest.raises(NotARoster, match="no child of the school"):
        read(roster, school="Elsewhere")


class TestSwappedColumns:
    NAMES = ("Ann", "Bob", "Cy", "Di")

    def test_birth_dates_and_names(self, read: Read) -> None:
        rows = "".join(f"Brook,2017-05-0{day},{name},2\n" for day, name in enumerate(self.NAMES, start=1))
        with pytest.raises(NotARoster) as raised:
            read("Last Name,First Name,DOB,Grade\n" + rows)
        assert "'First Name'" in raised.value.happened
        assert "'DOB'" in raised.value.happened
        assert "swapped" in raised.value.happened

    def test_grades_and_numbers(self, read: Read) -> None:
        rows = "".join(
            f"{grade},Brook,{name},1040{grade}\n" for grade, name in enumerate(self.NAMES, start=1)
        )
        with pytest.raises(NotARoster, match="'Grade' and 'Student ID' seem to be swapped"):
            read("Student ID,Last Name,First Name,Grade\n" + rows)

    def test_a_birth_date_column_full_of_something_else(self, read: Read) -> None:
        rows = "".join(f"Brook,{name},Oldton\n" for name in self.NAMES)
        with pytest.raises(NotARoster, match="Most cells of column 'DOB' are no dates"):
            read("Last Name,First Name,DOB\n" + rows)

    def test_a_few_bad_dates_are_no_swap(self, read: Read) -> None:
        reading = read("Last Name,First Name,DOB\nA,Bo,2017-05-02\nB,Cy,2017-05-03\nC,Di,?\nD,Eve,x\n")
        assert len(reading.rows) == 3
        assert len(reading.problems) == 1

    def test_short_names_and_single_letters_are_names(self, read: Read) -> None:
        reading = read("Last Name,First Name\nO,Bo\nLi,J\nNg,K\nXu,M\n")
        assert len(reading.rows) == 4


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b"Last Name,First Name\n", "no child below it"),
        (b"Last Name,First Name\n,\n\n", "no child below it"),
        (b"a,b,c\n1,2,3\n", "No header row"),
        (b"Dear all,\nplease find the list attached.\n", "No header row"),
        (b"\x89PNG\r\n\x1a\n" + bytes(64), "picture"),
        (b"<html><body><table><tr><td>Last Name", "web page"),
        (b"PK\x03\x04" + bytes(64), "damaged"),
        (b"\x00\x01\x02\x03" * 100, "no text"),
    ],
)
def test_what_is_no_roster(read: Read, content: bytes, word: str) -> None:
    with pytest.raises(NotARoster, match=word) as raised:
        read(content)
    assert raised.value.exit_status == 3
    assert raised.value.kept == "Nothing was imported."
    assert raised.value.todo


def test_a_file_that_is_not_there_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(NotARoster, match="cannot be opened"):
        read_roster(tmp_path / "none.csv", today=TODAY)
    with pytest.raises(NotARoster, match="no OneRoster set"):
        read_roster(tmp_path, today=TODAY)


def test_200_megabytes_are_refused_without_reading_them(tmp_path: Path) -> None:
    file = tmp_path / "huge.csv"
    with file.open("wb") as opened:
        opened.write(b"Last Name,First Name\n")
        opened.truncate(200_000_000)
    with pytest.raises(NotARoster, match="This file has 200 MB"):
        read_roster(file, today=TODAY)


def test_more_rows_than_a_roster_has(read: Read) -> None:
    with pytest.raises(NotARoster, match="more than 100,000 rows"):
        read(b"Last Name,First Name\n" + b"B,A\n" * 100_001)
