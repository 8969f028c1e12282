"""The tear-off reply slip under a referral letter: blank lines for what the examiner found. It asks, it never says."""

from __future__ import annotations

from collections.abc import Mapping

from fieldapp.papers import typeface
from fieldapp.papers.sheet import INK, SOFT, Sheet
from fieldapp.papers.wording import full_name
from shared.records.standing import Standing

REPLY_HEIGHT = 178.0
SIZE = 8.5
ROW = 20.0


def draw_reply(sheet: Sheet, reply: Mapping[str, str], child: Standing) -> None:
    """Draws the slip at the foot of the page, under a line to tear along."""
    person, office = child.person, sheet.context.office
    top = sheet.bottom + REPLY_HEIGHT - 8
    sheet.line(0, top, sheet.width, top, width=0.7, grey=SOFT, dash=(3, 3))
    y = top - 14
    sheet.text(sheet.left, y, reply["title"], 9.5, bold=True)
    y -= 12
    born = f"{reply['born']} {sheet.words.short_date(person.born)}" if person.born else ""
    who = " · ".join(filter(None, (full_name(person), born, person.student_number, person.class_name)))
    sheet.text(sheet.left, y, who, 9)
    y -= 10
    sheet.text(sheet.left, y, reply["explain"], 7.5, grey=SOFT)
    middle = sheet.left + (sheet.right - sheet.left) * 0.5
    y -= ROW - 3
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
    y -= ROW - 2
    _blank(sheet, reply["findings"], sheet.left, sheet.right, y)
    y -= ROW
    _blank(sheet, reply["examiner"], sheet.left, sheet.right, y)
    y -= ROW
    _blank(sheet, reply["signature"], sheet.left, middle + 20, y)
    _blank(sheet, reply["contact"], middle + 30, sheet.right, y)
    back = ", ".join(filter(None, (office.name or sheet.context.school, *office.address)))
    for line in typeface.wrap(f"{reply['return_to']}: {back}", sheet.right - sheet.left, SIZE)[:2]:
        y -= 14
        sheet.text(sheet.left, y, line, SIZE, bold=True)
    sheet.y = sheet.bottom


def _blank(sheet: Sheet, label: str, x: float, end: float, y: float) -> None:
    """A label and a line to write on."""
    sheet.text(x, y, label, SIZE)
    sheet.line(x + typeface.width(label, SIZE) + 5, y - 2, end, y - 2, grey=INK, width=0.5)


def _tick(sheet: Sheet, label: str, x: float, y: float) -> None:
    """A box to tick and what it means."""
    sheet.box(x, y - 1.5, 8.5, 8.5)
    sheet.text(x + 13, y, label, SIZE)
