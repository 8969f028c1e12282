"""What was found of one child, as drawn on its record and on a referral: facts and screenings."""

from __future__ import annotations

from collections.abc import Sequence

from fieldapp.papers import typeface
from fieldapp.papers.context import PaperContext
from fieldapp.papers.sheet import LINE, SOFT, Sheet
from fieldapp.papers.table import Column, Group, Table
from fieldapp.papers.wording import Words
from shared.records.standing import Screening, Standing

HEARD, SILENT, NOT_GIVEN = "✓", "–", ""
LABEL = 128.0


def section(sheet: Sheet, title: str, room: float = 60) -> None:
    """A heading within a page; a new page where less than ``room`` is left below it."""
    if sheet.y - room < sheet.bottom:
        sheet.new_page()
    sheet.y -= 20
    with sheet.element("H2"):
        sheet.text(sheet.left, sheet.y, title, 11, bold=True)
    sheet.y -= 5
    sheet.line(sheet.left, sheet.y, sheet.right, sheet.y, grey=LINE)


def facts(sheet: Sheet, pairs: Sequence[tuple[str, str]]) -> None:
    """Labels and values, one below the other; what is not known is left out."""
    for label, value in pairs:
        if not value:
            continue
        with sheet.element("P"):
            for index, line in enumerate(typeface.wrap(value, sheet.right - sheet.left - LABEL, 9.5)):
                if sheet.y - 13 < sheet.bottom:
                    sheet.new_page()
                sheet.y -= 13
                if index == 0:
                    sheet.text(sheet.left, sheet.y, label, 9, grey=SOFT)
                sheet.text(sheet.left + LABEL, sheet.y, line, 9.5)


def person_facts(child: Standing, say: Words) -> list[tuple[str, str]]:
    """Who the child is."""
    person = child.person
    grade = say("grade_is", grade=person.grade) if person.grade else ""
    return [
        (say("fact_number"), person.student_number),
        (say("fact_born"), say.long_date(person.born)),
        (say("fact_class"), " · ".join(filter(None, (person.class_name, grade)))),
        (say("fact_guardian"), person.guardian),
        (say("fact_address"), ", ".join(person.address)),
        (say("fact_language"), say.language_name(person.language)),
    ]


def draw_screenings(sheet: Sheet, child: Standing) -> None:
    """Every walk of every screening, tone by tone."""
    say, context = sheet.words, sheet.context
    tones = list(dict.fromkeys((a.ear, a.hz) for s in child.screenings for a in s.answers))
    tones.sort(key=lambda tone: (tone[0] == "left", tone[1]))
    columns = [Column(say("col_screened"), 2.3), Column(say("col_by"), 2.6), Column(say("col_level"), 1.1)]
    columns += [Column(f"{say(ear)} {hz}", 0.95, "middle") for ear, hz in tones]
    columns.append(Column(say("col_result"), 1.7))
    rows = [row for each in child.screenings for row in _walks(each, tones, say, context)]
    Table(sheet, columns).draw([Group("", rows)])
    sheet.paragraph(say("walk_key"), 7.5, grey=SOFT)


def _walks(
    screening: Screening, tones: Sequence[tuple[str, int]], say: Words, context: PaperContext
) -> list[list[str]]:
    rows: list[list[str]] = []
    walks = sorted({answer.walk for answer in screening.answers})
    for walk in walks:
        answers = {(a.ear, a.hz): a for a in screening.answers if a.walk == walk}
        levels = sorted({a.level_db_hl for a in answers.values()})
        last = walk == walks[-1]
        outcome = (
            "walk_unfinished"
            if screening.passed is None
            else "walk_pass"
            if screening.passed
            else "walk_missed"
        )
        rows.append(
            [
                say.short_date(screening.begun_at) if walk == walks[0] else "",
                f"{context.tablet(screening.device)} · {screening.author}"
                if walk == walks[0]
                else say("walked_again"),
                "/".join(map(str, levels)),
                *(
                    HEARD if (a := answers.get(tone)) and a.heard else SILENT if a else NOT_GIVEN
                    for tone in tones
                ),
                say(outcome) if last else say("walk_repeated"),
            ]
        )
    return rows
