"""The tear-off reply slip under a referral letter: blank lines for what the examiner found. It asks, it never says.

Its fields are those that the office can type in when it comes back (``shared.hearing.examination``).
"""

from __future__ import annotations

from collections.abc import Mapping

from fieldapp.papers import typeface
from fieldapp.papers.sheet import HAND, INK, SOFT, Sheet
from fieldapp.papers.wording import Words, full_name
from shared.hearing.examination import CONDUCTIONS, FREQUENCIES
from shared.hearing.fields import EARS
from shared.records.standing import Standing

SIZE = 8.5
SMALLEST = 5.5
LEAST_ROW = 0.875 * HAND  # of a line and of a row of the grid, where a letter is long
ROWS = 6  # four lines, two rows of the grid
PRINTED = 94.0  # the height of all else, but for the address that the slip goes back to
PHONES = ("phones_on", "phones_in")
LABEL, BETWEEN = 40.0, 8.0  # before the cells of an ear, and between the ears


def draw_reply(sheet: Sheet, reply: Mapping[str, str], child: Standing, say: Words) -> None:
    """Draws the slip at the foot of the page, under a line to tear along; ``say`` speaks the letter's language.

    Where the letter is so long that a hand could not write in what is left, the slip has a page of its own.
    """
    person, office = child.person, sheet.context.office
    back = ", ".join(filter(None, (office.name or sheet.context.school, *office.address)))
    returned = typeface.wrap(f"{reply['return_to']}: {back}", sheet.right - sheet.left, SIZE)[:2]
    printed = PRINTED + 12 * len(returned)
    row = min(HAND, (sheet.y - sheet.bottom - printed) / ROWS)
    if row < LEAST_ROW:
        sheet.new_page()
        row = HAND
    top = sheet.bottom + printed + ROWS * row - 4
    sheet.line(0, top, sheet.width, top, width=0.7, grey=SOFT, dash=(3, 3))
    y = top - 14
    sheet.text(sheet.left, y, reply["title"], 9.5, bold=True)
    room = sheet.right - sheet.left - typeface.width(reply["title"], 9.5, True) - 8
    explained = min(7.5, 7.5 * room / max(typeface.width(reply["explain"], 7.5), 1))
    if explained >= SMALLEST:  # else a school's own words are longer than the line: the title says enough
        sheet.text(sheet.right, y, reply["explain"], explained, align="right", grey=SOFT)
    y -= 12
    born = f"{reply['born']} {say.short_date(person.born)}" if person.born else ""
    who = " · ".join(filter(None, (full_name(person), born, person.student_number, person.class_name)))
    sheet.text(sheet.left, y, who, 9)
    middle = sheet.left + (sheet.right - sheet.left) * 0.5
    y -= row
    _blank(sheet, reply["date"], sheet.left, middle - 10, y)
    _blank(sheet, reply["again"], middle, sheet.right, y)
    y -= 13
    sheet.text(sheet.left, y, reply["result"], SIZE, bold=True)
    x = sheet.left + typeface.width(reply["result"], SIZE, True) + 12
    _tick(sheet, reply["within"], x, y)
    y -= 13
    _tick(sheet, f"{reply['not_within']}:", x, y)
    x += 27 + typeface.width(f"{reply['not_within']}:", SIZE)
    for ear in ("ear_right", "ear_left"):
        _tick(sheet, reply[ear], x, y)
        x += 26 + typeface.width(reply[ear], SIZE)
    y = _grid(sheet, reply, y - 7, row)
    y -= row
    _blank(sheet, reply["findings"], sheet.left, sheet.right, y)
    y -= row
    _blank(sheet, reply["examiner"], sheet.left, sheet.right, y)
    y -= row
    _blank(sheet, reply["signature"], sheet.left, middle + 20, y)
    _blank(sheet, reply["contact"], middle + 30, sheet.right, y)
    for line in returned:
        y -= 12
        sheet.text(sheet.left, y, line, SIZE, bold=True)
    sheet.y = sheet.bottom


def _grid(sheet: Sheet, reply: Mapping[str, str], y: float, row: float) -> float:
    """The grid for thresholds, both ears beside each other, a row so high for each conduction; gives its foot's ``y``.

    Beside its heading is the place to tick the earphones worn.
    """
    tones, y = FREQUENCIES["air"], y - 7
    x = sheet.right - sum(14 + typeface.width(reply[phones], 7) + 6 for phones in PHONES) + 6
    for line, heading in enumerate(typeface.wrap(reply["thresholds"], x - sheet.left - 12, 7.5, True)[:2]):
        sheet.text(sheet.left, y - 9.5 * line, heading, 7.5, bold=True)
    for phones in PHONES:
        sheet.box(x, y - 1.5, 8.5, 8.5)
        sheet.text(x + 12, y, reply[phones], 7)
        x += 14 + typeface.width(reply[phones], 7) + 6
    y -= 21
    half = (sheet.right - sheet.left - BETWEEN) / 2
    across = (half - LABEL) / len(tones)
    for place_of_ear, ear in enumerate(EARS):
        begin = sheet.left + place_of_ear * (half + BETWEEN)
        for place, hz in enumerate(tones):
            sheet.text(
                begin + LABEL + across * (place + 0.5), y + 2.5, str(hz), 6.5, align="middle", grey=SOFT
            )
        for number, way in enumerate(CONDUCTIONS, start=1):
            foot = y - row * number
            label = typeface.wrap(reply[f"{way}_{ear}"], LABEL - 2, 7)[:3]
            for line, words in enumerate(label):
                sheet.text(begin, foot + row / 2 - 2.5 + 7.2 * ((len(label) - 1) / 2 - line), words, 7)
            for place in range(len(FREQUENCIES[way])):
                sheet.box(begin + LABEL + across * place, foot, across, row, width=0.4)
    return y - row * len(CONDUCTIONS)


def _blank(sheet: Sheet, label: str, x: float, end: float, y: float) -> None:
    """A label and a line to write on."""
    sheet.text(x, y, label, SIZE)
    sheet.line(x + typeface.width(label, SIZE) + 5, y - 2, end, y - 2, grey=INK, width=0.5)


def _tick(sheet: Sheet, label: str, x: float, y: float) -> None:
    """A box to tick and what it means."""
    sheet.box(x, y - 1.5, 8.5, 8.5)
    sheet.text(x + 13, y, label, SIZE)
