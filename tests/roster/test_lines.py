"""Rows and cells against the ``csv`` module's dialects, and what that module would do in silence."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fieldapp.roster.lines import read_lines

CELL = st.text(st.characters(codec="utf-8", exclude_characters='\r\n"\x00'), max_size=12).map(str.strip)
TABLE = st.lists(st.lists(CELL, min_size=2, max_size=6), min_size=1, max_size=8)


def written(rows: list[list[str]], **form: object) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, **form).writerows(rows)  # type: ignore[arg-type]
    return out.getvalue()


@given(TABLE, st.sampled_from([",", ";", "\t", "|"]), st.sampled_from(["\r\n", "\n", "\r"]), st.booleans())
def test_what_the_csv_module_writes_comes_back(
    rows: list[list[str]], delimiter: str, end: str, all_quoted: bool
) -> None:
    # Reference: Python's csv module (dialects excel, excel-tab, unix and the semicolon form of spreadsheets).
    text = written(
        rows,
        delimiter=delimiter,
        lineterminator=end,
        quoting=csv.QUOTE_ALL if all_quoted else csv.QUOTE_MINIMAL,
    )
    lines = list(read_lines(text, delimiter))
    assert [list(line.cells) for line in lines] == rows
    assert [line.number for line in lines] == list(range(1, len(rows) + 1))


def test_a_line_break_and_doubled_quotes_inside_a_cell() -> None:
    # RFC 4180, section 2, rules 6 and 7.
    lines = list(read_lines('a,"b\r\nb","c""c"\r\nd,e,f\r\n', ","))
    assert [line.cells for line in lines] == [("a", "b\r\nb", 'c"c'), ("d", "e", "f")]
    assert [line.number for line in lines] == [1, 3]


def test_a_stray_quotation_mark_swallows_no_rows() -> None:
    text = 'id,family,given,grade\n1,"Brook,Ann,2\n2,Hill,Bob,3\n3,Field,Cy,4\n'
    lines = list(read_lines(text, ","))
    assert [line.number for line in lines] == [1, 2, 3, 4]
    assert "quotation mark" in lines[1].broken
    assert lines[2].cells == ("2", "Hill", "Bob", "3")


def test_two_stray_marks_swallow_no_rows_either() -> None:
    text = 'id,family,given,grade\n1,"Brook,Ann,2\n2,Hill,Bob,3\n3,Fi"eld,Cy,4\n4,Moor,Di,5\n'
    lines = list(read_lines(text, ","))
    assert [line.number for line in lines] == [1, 2, 3, 4, 5]
    assert [bool(line.broken) for line in lines] == [False, True, False, False, False]


def test_an_address_over_two_lines_is_no_stray_mark() -> None:
    text = (
        'id,family,given,grade,address\n1,Brook,Ann,2,"2 Mill Rd, Apt 3\nOldton, XX 00000"\n2,Hill,Bob,3,x\n'
    )
    lines = list(read_lines(text, ","))
    assert [len(line.cells) for line in lines] == [5, 5, 5]
    assert not any(line.broken for line in lines)


@pytest.mark.parametrize("text", ["x" * 25_000, "a" + "," * 2_500, '"' + "x" * 140_000 + '"'])
def test_a_monstrous_line_is_broken_and_the_next_is_read(text: str) -> None:
    lines = list(read_lines(text + "\nb,c\n", ","))
    assert lines[0].broken
    assert lines[-1].cells == ("b", "c")


@given(st.text(alphabet='a,;"\n\r\t \x00é', max_size=80))
@example('"\n"\n')
@example('a"b\r\rc')
def test_every_physical_line_belongs_to_one_row(text: str) -> None:
    lines = list(read_lines(text, ","))
    physical = list(io.StringIO(text, newline=""))
    numbers = [line.number for line in lines]
    assert numbers == sorted(set(numbers))
    assert (numbers[0] if numbers else None) == (1 if physical else None)
    assert not numbers or numbers[-1] <= len(physical)
    assert bool(lines) == bool(text)
