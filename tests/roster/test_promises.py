"""What holds for every roster: no row is skipped in silence, and no message holds a name or a birth date."""

from __future__ import annotations

import csv
import io
import tempfile
from datetime import date
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from demo.roster_file import write_new_system_roster, write_old_system_roster
from demo.school import make_school
from fieldapp.roster import AmbiguousDates, NotARoster, RosterReading, read_roster
from shared.errors import QuietbellError

TODAY = date(2026, 10, 12)
NAMES = ("Zephyrine", "Quillon", "Ottoline", "Bartleby", "Íñigo", "Nguyễn", "O'Zwick", "")
DATES = (
    "1987-06-05",
    "06/05/2017",
    "23/05/2017",
    "5/30/16",
    "2017-02-30",
    "9 Jun 2018",
    "42878",
    "",
    "Zephyrine",
)
HEADER = ("Student ID", "Last Name", "First Name", "DOB", "Grade", "Home Language", "Address")

ROW = st.one_of(
    st.tuples(
        st.sampled_from(("1", "2", "3", "00712", "", "1.2E+9")),
        st.sampled_from(NAMES),
        st.sampled_from(NAMES),
        st.sampled_from(DATES),
        st.sampled_from(("K", "01", "2nd", "Blue", "")),
        st.sampled_from(("es", "Spanish", "Klingon", "")),
        st.sampled_from(("", "1 Mill Road\nOldton, XX 01234", "Zephyrine House; 2")),
    ).map(list),
    st.lists(st.sampled_from((*NAMES, *DATES, "Total", "x")), max_size=9),
    st.just([""] * 7),
    st.just(list(HEADER)),
    st.lists(st.text(max_size=8), max_size=9),
)


def read_text(text: str, codec: str = "utf-8") -> RosterReading:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "roster.csv"
        file.write_bytes(text.encode(codec, "surrogatepass"))
        return read_roster(file, today=TODAY)


# Enough sound rows that a few odd ones below them do not have the whole file refused.
SOUND = [[f"S{n}", "Brook", f"Name {n}", f"05/{n + 10}/2017", "2", "es", ""] for n in range(14)]


def as_csv(rows: list[list[str]], delimiter: str) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows([list(HEADER), *SOUND, *rows])
    return out.getvalue()


@settings(max_examples=300, deadline=None)
@given(st.lists(ROW, max_size=12), st.sampled_from(",;\t"))
def test_every_row_ends_imported_in_problems_or_counted(rows: list[list[str]], delimiter: str) -> None:
    text = as_csv(rows, delimiter)
    try:
        reading = read_text(text)
    except (NotARoster, AmbiguousDates):
        return
    counted = len(reading.rows) + len(reading.problems) + reading.blank_lines
    assert counted == reading.data_lines
    lines = [row.line for row in reading.rows] + [problem.line for problem in reading.problems]
    assert len(set(lines)) == len(lines)
    # Reference: the csv module over the same text, which is sound here.
    if all("\n" not in cell and "\r" not in cell and '"' not in cell for row in rows for cell in row):
        below = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))[1:]
        assert reading.data_lines == len(below)
        assert reading.blank_lines == sum(not any(cell.strip() for cell in row) for row in below)


@settings(max_examples=300, deadline=None)
@given(st.lists(ROW, max_size=12), st.sampled_from(",;\t"))
def test_no_message_holds_a_name_or_a_birth_date(rows: list[list[str]], delimiter: str) -> None:
    try:
        reading = read_text(as_csv(rows, delimiter))
    except QuietbellError as refusal:
        told = [str(refusal)]
    else:
        told = [problem.reason for problem in reading.problems] + reading.notes
    for message in told:
        for private in (*NAMES, *DATES):
            assert len(private) < 3 or private not in message


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet=st.sampled_from('ab1,;"\t\n\r é-/20'), max_size=200))
def test_any_text_below_a_header_adds_up(text: str) -> None:
    try:
        reading = read_text("Last Name,First Name,DOB\n" + text)
    except (NotARoster, AmbiguousDates):
        return
    assert len(reading.rows) + len(reading.problems) + reading.blank_lines == reading.data_lines


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_in_plain_words(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "roster"
        file.write_bytes(data)
        try:
            read_roster(file, today=TODAY)
        except QuietbellError as refusal:
            assert refusal.happened.endswith(".")


@settings(max_examples=30, deadline=None)
@given(st.lists(ROW, min_size=1, max_size=8))
def test_a_workbook_says_the_same_as_a_csv_file(rows: list[list[str]]) -> None:
    # Reference: the two formats carry the same cells, so they must give the same children and the same reasons.
    rows = [[cell for cell in row if cell.isprintable()] for row in rows]
    book = Workbook()
    for row in (list(HEADER), *SOUND, *rows):
        book.active.append(row or [None])
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "roster.xlsx"
        book.save(file)
        try:
            from_book = read_roster(file, today=TODAY)
        except (NotARoster, AmbiguousDates) as refusal:
            assert not isinstance(refusal, NotARoster) or "damaged" not in refusal.happened
            return
    from_text = read_text(as_csv(rows, ","))
    assert from_book.rows == from_text.rows
    assert from_book.problems == from_text.problems


def test_what_the_invented_offices_send(tmp_path: Path) -> None:
    for seed in range(3):
        for write, old in ((write_old_system_roster, True), (write_new_system_roster, False)):
            facts = write(tmp_path / "roster.csv", make_school(seed, latin_1_only=old), seed)
            reading = read_roster(facts.path, today=TODAY)
            found = {row.person.student_number: row.person for row in reading.rows}
            assert len(reading.problems) == len(facts.broken) + len(facts.repeated)
            assert found.keys() == {pupil.number for pupil in facts.listed}
            for pupil in facts.listed:
                person = found[pupil.number]
                assert (person.given, person.family, person.born) == (
                    pupil.given,
                    pupil.family,
                    str(pupil.born),
                )
                assert (person.grade, person.class_name) == (pupil.grade, pupil.class_name)
                assert (person.language, person.address) == (pupil.language, pupil.address)
