"""The yearly summary on paper: the counts of ``yearly`` by grade, with the line that shows that they add up."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fieldapp.exports.spreadsheet import Cell, write_csv
from fieldapp.papers.context import PaperContext, PaperMade
from fieldapp.papers.findings import section
from fieldapp.papers.sheet import SOFT, Sheet
from fieldapp.papers.table import Column, Group, Table
from fieldapp.papers.wording import words
from fieldapp.papers.yearly import COLUMNS, FURTHER, PARTS, count_by_grade, total
from shared.records.standing import Standing


def print_summary(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """The yearly summary. No names: the numbers of small grades may still point at a child."""
    say = words(context.language)
    sheet = Sheet(path, context, title=say("summary_title"), code="YEAR")
    sheet.new_page()
    sheet.heading(say("summary_title"), say("summary_intro"))
    table = count_by_grade(standings)
    everyone = total(table)
    for key, columns in (
        ("summary_roster", ("enrolled", *PARTS)),
        ("summary_further", ("screened", *FURTHER)),
    ):
        section(sheet, say(key), room=120)
        sheet.bookmark(say(key))
        heads = [Column(say("col_grade"), 1.1, bold=True)]
        heads += [Column(say(f"count.{column}"), 1.25, "right") for column in columns]
        rows = [
            [grade or "—", *(str(counts[column]) for column in columns)] for grade, counts in table.items()
        ]
        rows.append([say("all_grades"), *(str(everyone[column]) for column in columns)])
        Table(sheet, heads).draw([Group("", rows)])
    sheet.y -= 2
    parts = " + ".join(str(everyone[part]) for part in PARTS)
    sheet.paragraph(say("summary_proof", parts=parts, enrolled=everyone["enrolled"]), 9.5, bold=True)
    sheet.y -= 4
    for line in say("summary_notes").split("\n"):
        sheet.paragraph(line, 8, grey=SOFT)
    return sheet.save()


def write_summary(path: Path, standings: Sequence[Standing], context: PaperContext) -> Path:
    """The same counts as CSV, one row a grade; the last row, grade "all", is the sum."""
    table = count_by_grade(standings)
    rows: list[list[Cell]] = [
        [grade, *(counts[column] for column in COLUMNS)] for grade, counts in table.items()
    ]
    everyone = total(table)
    rows.append(["all", *(everyone[column] for column in COLUMNS)])
    return write_csv(path, ("grade", *COLUMNS), rows)
