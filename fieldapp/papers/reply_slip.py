"""The tear-off reply slip under a referral letter: blank lines for what the examiner found. It asks, it never says.

Its fields are those that the office can type in when it comes back (``shared.hearing.examination``).
"""

from __future__ import annotations

from collections.abc import Mapping

from fieldapp.papers import typeface
from fieldapp.papers.sheet import INK, SOFT, Sheet
from fieldapp.papers.wording import Words, full_name
from shared.hearing.examination import CONDUCTIONS, FREQUENCIES
from shared.hearing.fields import EARS
from shared.records.standing import Standing

REPLY_HEIGHT = 209.0
SIZE = 8.5
SMALLEST = 5.5
ROW = 16.5
CELL = 10.5  # the height of a row of the grid for thresholds


def draw_reply(sheet: Sheet, reply: Mapping[str, str], child: Standing, say: Words) -> None:
    """Draws the slip at the foot of the page, under a line to tear along; ``say`` speaks the letter's language."""
    person, office = child.person, sheet.context.office
    top = sheet.bottom + REPLY_HEIGHT - 8
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
    y -= ROW
    _blank(sheet, reply["date"], sheet.left, middle - 10, y)
    _blank(sheet, reply["again"], middle, sheet.right, y)
    y -= ROW - 4
    sheet.text(sheet.left, y, reply["result"], SIZE, bold=True)
    x = sheet.left + typeface.width(reply["result"], SIZE, True) + 12
    _tick(sheet, reply["within"], x, y)
    y -= 13
    _tick(sheet, f"{reply['not_within']}:", x, y)
    x += 27 + typeface.width(f"{reply['not_within']}:", SIZE)
    for ear in ("ear_right", "ear_left"):
        _tick(sheet, reply[ear], x, y)
        x += 26 + typeface.width(reply[ear], SIZE)
    y = _grid(sheet, reply, y - 8)
    y -= ROW - 1
    _blank(sheet, reply["findings"], sheet.left, sheet.right, y)
    y -= ROW
    _blank(sheet, reply["examiner"], sheet.left, sheet.right, y)
    y -= ROW
    _blank(sheet, reply["signature"], sheet.left, middle + 20, y)
    _blank(sheet, reply["contact"], middle + 30, sheet.right, y)
    back = ", ".join(filter(None, (office.name or sheet.context.school, *office.address)))
    for line in typeface.wrap(f"{reply['return_to']}: {back}", sheet.right - sheet.left, SIZE)[:2]:
        y -= 13
        sheet.text(sheet.left, y, line, SIZE, bold=True)
    sheet.y = sheet.bottom


def _grid(sheet: Sheet, reply: Mapping[str, str], y: float) -> float:
    """The grid for thresholds, one row an ear and conduction; gives its foot's ``y``.

    Where no bone threshold is asked for, there is the place to tick the earphones worn.
    """
    label = 6 + max(typeface.width(reply[f"{way}_{ear}"], 7.5) for way in CONDUCTIONS for ear in EARS)
    left, tones = sheet.left + label, FREQUENCIES["air"]
    across = (sheet.right - left) / len(tones)
    y -= 7
    sheet.text(sheet.left, y, reply["thresholds"], 7.5, bold=True)
    for place, hz in enumerate(tones):
        sheet.text(left + across * (place + 0.5), y - 9, str(hz), 7, align="middle", grey=SOFT)
    y -= 11.5
    for way in CONDUCTIONS:
        asked = FREQUENCIES[way]
        for ear, phones in zip(EARS, ("phones_on", "phones_in"), strict=True):
            y -= CELL
            sheet.text(sheet.left, y + 2.5, reply[f"{way}_{ear}"], 7.5)
            for place in range(len(asked)):
                sheet.box(left + across * place, y, across, CELL, width=0.4)
            if len(asked) < len(tones):
                x = left + across * len(asked) + 5
                sheet.box(x, y + 1.5, 7, 7)
                sheet.text(x + 11, y + 2.5, reply[phones], 7)
    return y


def _blank(sheet: Sheet, label: str, x: float, end: float, y: float) -> None:
    """A label and a line to write on."""
    sheet.text(x, y, label, SIZE)
    sheet.line(x + typeface.width(label, SIZE) + 5, y - 2, end, y - 2, grey=INK, width=0.5)


def _tick(sheet: Sheet, label: str, x: float, y: float) -> None:
    """A box to tick and what it means."""
    sheet.box(x, y - 1.5, 8.5, 8.5)
    sheet.text(x + 13, y, label, SIZE)
