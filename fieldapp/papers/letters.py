"""The letters home: one a child, in the child's home language, addressed for a window envelope.

The layout of a letter may live here; its words are in ``assets/letters`` and its values in ``letter_values``.

The address block lies where a window shows it however the sheet slides in its envelope. Letter, folded in three, in a
No. 10 envelope (window 4 1/2 x 1 1/8 in, 7/8 in from the left, 1/2 in from the foot; from memory): the sheet may sit
up to 0.46 in high and 1 in aside, which leaves 2.5 to 3.17 in from the top and 0.875 to 4.375 in from the left.
A4: the address zone of DIN 5008 form B (62.7 to 90 mm from the top, 25 mm from the left; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldapp.papers import typeface
from fieldapp.papers.context import PaperContext, PaperMade
from fieldapp.papers.letter_wording import LetterWording, load_wording
from fieldapp.papers.lists import class_title
from fieldapp.papers.reply_slip import draw_reply
from fieldapp.papers.sheet import INK, SOFT, Sheet
from fieldapp.papers.wording import LANGUAGES, Words, by_class, full_name, language_of, words
from shared.records.standing import Standing, Status

SIZE, GAP = 10.5, 7.0
CLOSE_SIZE, CLOSE_GAP = 9.8, 3.0  # where the page is wanted for more, or the letter is long
LEADING, TITLE = 1.42, 12.5
SIGNED = 60.0  # what the end of a letter takes
ADDRESS_TOP, ADDRESS_HIGH, ADDRESS_ROOM = 180.0, 46.5, 230.0  # points; the first from the top edge
BODY_TOP = 262.0
LEFT = {"letter": 68.0, "a4": 70.9}


@dataclass(frozen=True, slots=True)
class Letter:
    """One kind of letter home and who gets it."""

    name: str  # of its wording
    code: str
    statuses: tuple[Status, ...]


RESCREEN = Letter("rescreen", "LR", (Status.RESCREEN,))
COULD_NOT_TEST = Letter("could-not-test", "LC", (Status.COULD_NOT_TEST,))
REFERRAL = Letter("referral", "LF", (Status.REFERRED,))
PASSED = Letter("passed", "LP", (Status.PASSED,))


def print_letters(
    path: Path, kind: Letter, standings: Sequence[Standing], context: PaperContext
) -> PaperMade:
    """One letter for each child of the kind's statuses, by class, each with its own number and page count.

    Raises ``WordingRefused`` before anything is printed where a wording is off.
    """
    wordings = {tag: load_wording(kind.name, tag, context.letters_folder) for tag in LANGUAGES}
    title = words(context.language)(f"letters_{kind.name.replace('-', '_')}")
    left = LEFT[context.page_size]
    sheet = Sheet(path, context, title=title, code=kind.code, left=left, home=True)
    chosen = [standing for standing in standings if standing.status in kind.statuses]
    done = 0
    for grade, name, children in by_class(chosen):
        heading = class_title(sheet.words, grade, name)
        for index, child in enumerate(children):
            done += 1
            wording = wordings[language_of(child.person.language)]
            number = f"{sheet.number}-{done:03d}"
            sheet.about(child, number)
            sheet.new_page()
            sheet.running_head = " · ".join(
                filter(None, (full_name(child.person), child.person.student_number))
            )
            if index == 0:
                sheet.bookmark(heading)
            sheet.bookmark(full_name(child.person), level=1)
            with sheet.element("Sect", language=wording.language):
                _letter(sheet, wording, child, number)
            sheet.end_section(number, wording.language)
            if context.progress:
                context.progress(done, len(chosen))
    if not chosen:
        sheet.new_page()
        sheet.heading(title)
        sheet.paragraph(sheet.words("nobody"), bold=True)
    return sheet.save()


def letter_values(child: Standing, context: PaperContext, say: Words) -> dict[str, str]:
    """The value of every field for one child, in the letter's language; empty where it is not known."""
    person, last, office = child.person, child.governing, context.office
    return {
        "child": full_name(person),
        "given": person.given or full_name(person),
        "class": person.class_name,
        "grade": person.grade,
        "school": context.school,
        "visit_days": say.days(context.visit_dates),
        "screened_on": say.long_date((last.finished_at or last.begun_at)[:10]) if last else "",
        "ears": say.ear_names(last.missed) if last else "",
        "window": say.between(child.window),
        "office": office.name or context.school,
        "phone": office.phone,
        "signer": office.signer,
        "issued": say.long_date(context.issued),
    }


def _letter(sheet: Sheet, wording: LetterWording, child: Standing, number: str) -> None:
    context, say = sheet.context, words(wording.language)
    values = letter_values(child, context, say)
    _head(sheet, say, number)
    _address(sheet, child.person.guardian or wording.to.fill(values), child.person.address)
    sheet.y = sheet.height - BODY_TOP
    title = wording.title.fill(values)
    texts = [text for phrase in (wording.greeting, *wording.body) if (text := phrase.fill(values))]
    close = wording.reply is not None or _high(sheet, title, texts) > sheet.y - sheet.bottom
    size, gap = (CLOSE_SIZE, CLOSE_GAP) if close else (SIZE, GAP)
    sheet.paragraph(title, TITLE, bold=True, tag="H1")
    sheet.y -= gap
    for text in texts:
        sheet.paragraph(text, size, leading=LEADING)
        sheet.y -= gap
    _signature(sheet, wording.closing.fill(values), size, beside=close)
    if wording.reply:
        draw_reply(sheet, wording.reply, child, say)


def _high(sheet: Sheet, title: str, texts: Sequence[str]) -> float:
    """How high a letter is, from its title to whoever signs it."""
    room = sheet.right - sheet.left
    lines = sum(len(typeface.wrap(text, room, SIZE)) for text in texts)
    titled = len(typeface.wrap(title, room, TITLE, True)) * TITLE * 1.38
    return titled + lines * SIZE * LEADING + (len(texts) + 1) * GAP + SIGNED


def _head(sheet: Sheet, say: Words, number: str) -> None:
    """Who writes, on the left; when and under which number, on the right."""
    office, y = sheet.context.office, sheet.top - 10
    sheet.text(sheet.left, y, office.name or sheet.context.school, 11.5, bold=True)
    for line in (*([sheet.context.school] if office.name else []), *office.address, office.phone):
        if line:
            y -= 12.5
            sheet.text(sheet.left, y, line, 9, grey=SOFT)
    sheet.text(sheet.right, sheet.top - 10, say.long_date(sheet.context.issued), SIZE, align="right")
    sheet.text(sheet.right, sheet.top - 23, say("document", number=number), 8, align="right", grey=SOFT)


def _address(sheet: Sheet, name: str, address: Sequence[str]) -> None:
    """The address block. An address too long for the window is run together and set smaller, never cut."""
    apart = [name, *address]
    together = [name, ", ".join(address)]
    for lines, size, leading in (
        (apart, 10.0, 12.0),
        (apart, 8.0, 9.2),
        (together, 8.0, 9.2),
        (together, 6.5, 7.5),
    ):
        shown = [part for line in lines if line for part in typeface.wrap(line, ADDRESS_ROOM, size)]
        if size + (len(shown) - 1) * leading <= ADDRESS_HIGH:
            break
    y = sheet.height - ADDRESS_TOP - size
    for index, line in enumerate(shown):
        sheet.text(sheet.left, y - index * leading, line, size)


def _signature(sheet: Sheet, closing: str, size: float, *, beside: bool) -> None:
    """The closing words and the line to sign on: below them, or ``beside`` them where a reply slip needs the room."""
    office, x = sheet.context.office, sheet.left
    if sheet.y - (SIGNED / 2 if beside else SIGNED) < sheet.bottom:
        sheet.new_page()
    if beside:
        sheet.y -= 19
        sheet.text(x, sheet.y, closing, size)
        x += typeface.width(closing, size) + 10
    else:
        sheet.paragraph(closing, size)
        sheet.y -= 26
    sheet.line(x, sheet.y, x + 190, sheet.y, grey=INK)
    signed = ", ".join(filter(None, (office.signer, office.role))) or office.name or sheet.context.school
    sheet.y -= 11
    sheet.text(x, sheet.y, signed, 9, grey=SOFT)
    sheet.y -= 3 if beside else 6
