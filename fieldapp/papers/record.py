"""The child's record: everything known of one child, and the referral letter that an examiner gets."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from fieldapp.papers.audiogram import HEIGHT
from fieldapp.papers.context import PaperContext, PaperMade
from fieldapp.papers.findings import draw_screenings, facts, person_facts, section
from fieldapp.papers.lists import class_title
from fieldapp.papers.sheet import SOFT, Sheet
from fieldapp.papers.thresholds import draw_examination, draw_thresholds
from fieldapp.papers.wording import by_class, full_name, words
from shared.records.standing import Standing, Status


def print_records(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """The record of each of these children, by class, each with its own number and page count."""
    return _each(path, standings, context, "child_record", "CR", _record)


def print_referrals(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """The letter to the examiner for each referred child: screenings, thresholds, audiogram, the rule applied."""
    referred = [standing for standing in standings if standing.status is Status.REFERRED]
    return _each(path, referred, context, "examiner", "RX", _referral)


def _each(
    path: Path,
    standings: Sequence[Standing],
    context: PaperContext,
    key: str,
    code: str,
    draw: Callable[[Sheet, Standing], None],
) -> PaperMade:
    title = words(context.language)(f"{key}_title")
    sheet = Sheet(path, context, title=title, code=code)
    done = 0
    for grade, name, children in by_class(standings):
        for index, child in enumerate(children):
            done += 1
            number = f"{sheet.number}-{done:03d}"
            sheet.about(child, number)
            sheet.new_page()
            if index == 0:
                sheet.bookmark(class_title(sheet.words, grade, name))
            sheet.bookmark(full_name(child.person), level=1)
            sheet.running_head = " · ".join(
                filter(None, (full_name(child.person), child.person.student_number, title))
            )
            with sheet.element("Sect"):
                sheet.heading(title, number=number)
                draw(sheet, child)
            sheet.end_section(number)
            if context.progress:
                context.progress(done, len(standings))
    if not standings:
        sheet.new_page()
        sheet.heading(title)
        sheet.paragraph(sheet.words("nobody"), bold=True)
    return sheet.save()


def _record(sheet: Sheet, child: Standing) -> None:
    say = sheet.words
    sheet.paragraph(full_name(child.person), 15, bold=True)
    sheet.y -= 2
    facts(sheet, person_facts(child, say))
    section(sheet, say("record_stands"))
    facts(
        sheet,
        [
            (say("fact_status"), say.status(child)),
            (say("fact_since"), say.long_date(child.since)),
            (say("fact_why"), say.why(child)),
            (say("fact_due"), say.window(child.window)),
            (say("fact_signs"), say.signs(child)),
            (say("fact_note"), child.note),
        ],
    )
    _screenings(sheet, child)
    _thresholds(sheet, child)
    _examinations(sheet, child)
    if child.observations:
        section(sheet, say("record_observations"))
        for note in child.observations:
            sheet.paragraph(f"· {note}")
    if child.followups:
        section(sheet, say("record_followups"))
        facts(
            sheet,
            [
                (
                    say.short_date(each.day),
                    " · ".join(filter(None, (say.step(each.step), each.note, each.author))),
                )
                for each in child.followups
            ],
        )
    if child.papers:
        section(sheet, say("record_papers"))
        sheet.paragraph(", ".join(child.papers), 9)


def _screenings(sheet: Sheet, child: Standing) -> None:
    section(sheet, sheet.words("record_screenings"), room=110)
    if child.screenings:
        draw_screenings(sheet, child)
    else:
        sheet.paragraph(sheet.words("no_screening"), grey=SOFT)


def _thresholds(sheet: Sheet, child: Standing) -> None:
    for test in child.thresholds:
        section(sheet, sheet.words("record_thresholds"), room=HEIGHT + 65)
        draw_thresholds(sheet, test)


def _examinations(sheet: Sheet, child: Standing) -> None:
    for noted in child.examinations:
        section(sheet, sheet.words("record_examination"), room=HEIGHT + 150)
        draw_examination(sheet, noted, child.thresholds[-1] if child.thresholds else None)


def _referral(sheet: Sheet, child: Standing) -> None:
    """The letter proper on the first page; the threshold tests follow as its enclosure."""
    say, office = sheet.words, sheet.context.office
    sheet.paragraph(say("examiner_intro"), 10)
    sheet.y -= 8
    sheet.paragraph(full_name(child.person), 15, bold=True)
    sheet.y -= 2
    facts(sheet, [*person_facts(child, say), (say("fact_why"), say.why(child))])
    _screenings(sheet, child)
    notes = [*child.observations, *([child.note] if child.note else [])]
    if notes:
        section(sheet, say("record_observations"))
        for note in notes:
            sheet.paragraph(f"· {note}")
    section(sheet, say("examiner_reply_title"), room=110)
    sheet.y -= 3
    sheet.paragraph(say("examiner_reply"), 9.5)
    back = ", ".join(filter(None, (office.name or sheet.context.school, *office.address, office.phone)))
    sheet.paragraph(back, 9.5, bold=True)
    sheet.y -= 34
    sheet.line(sheet.left, sheet.y, sheet.left + 190, sheet.y, grey=SOFT)
    sheet.y -= 11
    signed = ", ".join(filter(None, (office.signer, office.role))) or office.name or sheet.context.school
    sheet.text(sheet.left, sheet.y, signed, 9, grey=SOFT)
    _thresholds(sheet, child)
