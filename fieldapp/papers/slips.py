"""Class slips: one small slip a child still to be seen, for the teacher to send the child. A slip tells no result."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fieldapp.papers import typeface
from fieldapp.papers.context import PaperContext, PaperMade
from fieldapp.papers.lists import class_title
from fieldapp.papers.sheet import INK, LINE, SOFT, Sheet
from fieldapp.papers.wording import by_class, full_name, words
from shared.records.standing import Standing, Status

WANTED = (*(Status.RESCREEN, Status.THRESHOLD, Status.NOT_SEEN, Status.ABSENT, Status.COULD_NOT_TEST),)
ACROSS, DOWN, PAD = 2, 5, 12.0


def print_slips(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """Ten slips a page with lines to cut along, by class; a class begins on a page of its own only by chance."""
    say = words(context.language)
    sheet = Sheet(path, context, title=say("slips_title"), code="SLIPS")
    wide = (sheet.right - sheet.left) / ACROSS
    place = 0
    for grade, name, children in by_class([each for each in standings if each.status in WANTED]):
        for index, child in enumerate(children):
            if place % (ACROSS * DOWN) == 0:
                sheet.new_page()
                _cutting_lines(sheet, wide)
            high = (sheet.top - sheet.bottom) / DOWN
            row, column = divmod(place % (ACROSS * DOWN), ACROSS)
            sheet.y = sheet.top - row * high
            if index == 0:
                sheet.bookmark(class_title(say, grade, name))
            sheet.about(child)
            _slip(sheet, child, sheet.left + column * wide, sheet.y, wide, high)
            place += 1
    if not place:
        sheet.new_page()
        sheet.heading(say("slips_title"))
        sheet.paragraph(say("nobody"), bold=True)
    return sheet.save()


def _cutting_lines(sheet: Sheet, wide: float) -> None:
    high = (sheet.top - sheet.bottom) / DOWN
    for row in range(1, DOWN):
        y = sheet.top - row * high
        sheet.line(sheet.left - 18, y, sheet.right + 18, y, dash=(2, 3), grey=LINE)
    middle = sheet.left + wide
    sheet.line(middle, sheet.top, middle, sheet.bottom, dash=(2, 3), grey=LINE)


def _slip(sheet: Sheet, child: Standing, x: float, top: float, wide: float, high: float) -> None:
    say, person, room = sheet.words, child.person, wide - 2 * PAD
    x, y = x + PAD, top - PAD - 8
    sheet.text(x, y, say("slip_title"), 8, grey=SOFT)
    y -= 18
    lines = typeface.wrap(full_name(person), room, 13, True)
    size = 13.0 if len(lines) == 1 else 10.0
    for line in typeface.wrap(full_name(person), room, size, True)[:3]:
        sheet.text(x, y, line, size, bold=True)
        y -= size * 1.15
    where = class_title(say, "", person.class_name) if person.class_name else say("no_class")
    where = f"{where} · {person.student_number}" if person.student_number else where
    for line in typeface.wrap(where, room, 9.5)[:2]:
        sheet.text(x, y - 1, line, 9.5)
        y -= 12
    y -= 5
    sheet.text(x, y, say("slip_ask"), 9)
    y = top - high + PAD + 6
    for label, start, end in (("slip_day", 0.0, 0.42), ("slip_time", 0.45, 0.7), ("slip_room", 0.73, 1.0)):
        begin = x + room * start
        sheet.text(begin, y, say(label), 8.5, grey=SOFT)
        line_from = begin + typeface.width(say(label), 8.5) + 4
        sheet.line(line_from, y - 2, x + room * end, y - 2, grey=INK)
