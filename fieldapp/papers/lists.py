"""The office's lists of children by class: what each one holds, its columns, the PDF and the same rows as CSV."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldapp.exports.spreadsheet import write_csv
from fieldapp.papers import typeface
from fieldapp.papers.context import PaperContext, PaperMade
from fieldapp.papers.sheet import SOFT, Sheet, marks_words
from fieldapp.papers.table import BOX, Column, Group, Table
from fieldapp.papers.wording import Words, by_class, language_of, listed_name, words
from fieldapp.papers.yearly import PARTS, part_of
from shared.records.standing import Standing, Status

NOTED = 7.5  # the size of the notes that end a list


@dataclass(frozen=True, slots=True)
class Field:
    """A column of a list: its share of the width and what it says of a child. None: a box to tick."""

    key: str  # of its title in the wording
    share: float
    say: Callable[[Standing, Words, PaperContext], str] | None
    bold: bool = False


@dataclass(frozen=True, slots=True)
class ChildList:
    """One list: who is on it and what is said of each."""

    code: str
    key: str  # KEY_title and KEY_intro in the wording
    statuses: tuple[Status, ...]
    fields: tuple[Field, ...]
    windowed: bool = False  # says where the due window comes from

    def title(self, language: str) -> str:
        """The list's title."""
        return words(language)(f"{self.key}_title")

    def holds(self, standings: Sequence[Standing]) -> list[Standing]:
        """The children on it."""
        return [standing for standing in standings if standing.status in self.statuses]


def _name(standing: Standing, say: Words, _: PaperContext) -> str:
    marks = [say("left_roster")] * standing.person.left + [say("added_on_day")] * standing.person.added
    marks += [say("disagree")] * bool(standing.disagreeing)
    return listed_name(standing.person) + (f"\n({', '.join(marks)})" if marks else "")


def _missed(standing: Standing, say: Words, _: PaperContext) -> str:
    return say.ears(standing.governing.missed).replace("; ", "\n") if standing.governing else ""


def _screened(standing: Standing, say: Words, context: PaperContext) -> str:
    if standing.governing is None:
        return ""
    last = standing.governing
    return (
        f"{say.short_date(last.finished_at or last.begun_at)}\n{last.author} · {context.tablet(last.device)}"
    )


def _last_step(standing: Standing, say: Words, _: PaperContext) -> str:
    if not standing.followups:
        return ""
    last = standing.followups[-1]
    return "\n".join(filter(None, (say.short_date(last.day), say.step(last.step), last.note)))


_NUMBER = Field("col_number", 1.15, lambda standing, *_: standing.person.student_number)
_NAME = Field("col_name", 2.2, _name, bold=True)
_BORN = Field("col_born", 1.55, lambda standing, say, _: say.short_date(standing.person.born))
_SINCE = Field("col_since", 1.55, lambda standing, say, _: say.short_date(standing.since))
_WHY = Field("col_why", 1.9, lambda standing, say, _: say.status(standing))
_NOTE = Field("col_note", 2.8, lambda standing, *_: standing.note)
_SIGNS = Field(
    "col_signs",
    3.0,
    lambda standing, say, _: "\n".join(part for part in (say.signs(standing), standing.note) if part),
)
_MISSED = Field("col_missed", 2.4, _missed)
_SCREENED = Field("col_screened", 1.66, _screened)
_DUE = Field("col_due", 1.72, lambda standing, say, _: say.window(standing.window).replace(" – ", "\n– "))
_DONE = Field("col_done", 0.7, None)
_BY = Field("col_rescreened", 1.28, lambda *_: "")
_GUARDIAN = Field("col_guardian", 1.9, lambda standing, *_: standing.person.guardian)
_STEP = Field("col_next", 2.4, _last_step)

RESCREEN = ChildList(
    "RESCREEN",
    "rescreen",
    (Status.RESCREEN,),
    (_NUMBER, _NAME, _BORN, _MISSED, _SCREENED, _DUE, _DONE, _BY),
    windowed=True,
)
THRESHOLD = ChildList(
    "THRESHOLD",
    "threshold",
    (Status.THRESHOLD,),
    (_NUMBER, _NAME, _BORN, _MISSED, _SCREENED, _DUE, _DONE, _BY),
    windowed=True,
)
NOT_YET_SCREENED = ChildList(
    "NOTYET", "not_yet", (Status.NOT_SEEN, Status.ABSENT), (_NUMBER, _NAME, _BORN, _WHY, _NOTE, _DONE, _BY)
)
ABSENT = ChildList("ABSENT", "absent", (Status.ABSENT,), (_NUMBER, _NAME, _BORN, _SINCE, _NOTE, _DONE, _BY))
COULD_NOT_TEST = ChildList(
    "COULDNOT", "could_not", (Status.COULD_NOT_TEST,), (_NUMBER, _NAME, _BORN, _SINCE, _NOTE, _DONE, _BY)
)
MEDICAL = ChildList(
    "MEDICAL", "medical", (Status.EAR_PROBLEM,), (_NUMBER, _NAME, _BORN, _SINCE, _SIGNS, _GUARDIAN, _DONE)
)
EXEMPT = ChildList(
    "EXEMPT",
    "exempt",
    (Status.DECLINED, Status.UNDER_CARE),
    (_NUMBER, _NAME, _BORN, _WHY, _SINCE, _NOTE, _DONE),
)
REFERRED = ChildList(
    "REFERRED", "referred", (Status.REFERRED,), (_NUMBER, _NAME, _BORN, _SCREENED, _GUARDIAN, _STEP, _DONE)
)


def class_title(say: Words, grade: str, name: str) -> str:
    """A class heading: "Class 3B · grade 3"."""
    if name:
        return (
            say("class_title_graded", class_name=name, grade=grade)
            if grade
            else say("class_title", class_name=name)
        )
    return say("no_class_graded", grade=grade) if grade else say("no_class")


def counted(say: Words, count: int) -> str:
    """How many children, in words."""
    return say("children_one") if count == 1 else say("children_many", count=count)


def print_list(
    path: Path, chosen: ChildList, standings: Sequence[Standing], context: PaperContext
) -> PaperMade:
    """The list as a PDF, by class."""
    say = words(context.language)
    title, listed = chosen.title(context.language), chosen.holds(standings)
    sheet = Sheet(path, context, title=title, code=chosen.code)
    sheet.new_page()
    sheet.heading(title, say(f"{chosen.key}_intro"))
    columns = [Column(say(field.key), field.share, bold=field.bold) for field in chosen.fields]
    table = Table(sheet, columns, continued=say("continued"), by_hand=_BY in chosen.fields)
    for standing in listed:
        sheet.about(standing)
    groups = [
        Group(
            class_title(say, grade, name),
            [
                [field.say(child, say, context) if field.say else BOX for field in chosen.fields]
                for child in children
            ],
            counted(say, len(children)),
        )
        for grade, name, children in by_class(listed)
    ]
    table.draw(groups)
    close_list(sheet, listed, windowed=chosen.windowed)
    return sheet.save()


def close_list(sheet: Sheet, listed: Sequence[Standing], *, windowed: bool = False) -> None:
    """The end of a list: how many in all and where the yearly summary counts them, where the window comes from, names
    to complete, the protocol's notes."""
    say, protocol, count = sheet.words, sheet.context.protocol, len(listed)
    changed = protocol.copy_of is not None and "rescreen_days" in protocol.copy_of.changed
    local = say("window_changed" if changed else "window_local")
    notes = [local] if windowed and protocol.rescreen_set_locally and count else []
    noted = " ".join(
        filter(None, (*notes, marks_words(protocol, say), *map(say.sentence, protocol.cautions)))
    )
    small = len(typeface.wrap(noted, sheet.right - sheet.left, NOTED))
    if sheet.y - 32 - small * NOTED * 1.38 < sheet.bottom:  # the end is not torn apart
        sheet.new_page()
    sheet.y -= 4
    sheet.paragraph(say("total", count=counted(say, count)) if count else say("nobody"), 10, bold=True)
    if count:
        sheet.paragraph(say("counted_as", parts=_counted_as(say, listed)), 9)
    sheet.paragraph(noted, NOTED, grey=SOFT)
    if sheet.unprintable:
        if sheet.y - 56 < sheet.bottom:  # the heading stays with the first name
            sheet.new_page()
        sheet.y -= 6
        sheet.paragraph(say("unprintable_title"), 10, bold=True)
        sheet.paragraph(say("unprintable"), 8)
        for name in sheet.unprintable:
            points = " ".join(f"U+{ord(letter):04X}" for letter in name.letters)
            sheet.paragraph(f"{name.student_number or name.child}: {points}", 8)


def _counted_as(say: Words, listed: Sequence[Standing]) -> str:
    """Where the yearly summary counts these children, in the order of its columns."""
    found = Counter(map(part_of, listed))
    return " · ".join(f"{say(f'count.{part}')}: {found[part]}" for part in PARTS if found[part])


def write_list(path: Path, chosen: ChildList, standings: Sequence[Standing], context: PaperContext) -> Path:
    """The same list as a CSV file: one row a child, dates as ISO days, the columns named in English."""
    rows: list[list[str]] = []
    for grade, name, children in by_class(chosen.holds(standings)):
        for child in children:
            person, last = child.person, child.governing
            window = child.window or ("", "")
            rows.append(
                [
                    name,
                    grade,
                    person.student_number,
                    person.family,
                    person.given,
                    person.born,
                    child.status.value,
                    words("en").ears(last.missed) if last else "",
                    (last.finished_at or last.begun_at)[:10] if last else "",
                    context.tablet(last.device) if last else "",
                    *window,
                    "; ".join(part for part in (words("en").signs(child), child.note) if part),
                    language_of(person.language) if person.language else "",
                    part_of(child),
                ]
            )
    return write_csv(path, LIST_COLUMNS, rows)


LIST_COLUMNS = (
    "class",
    "grade",
    "student_number",
    "family",
    "given",
    "born",
    "status",
    "no_response_hz",
    "screened_on",
    "tablet",
    "due_from",
    "due_to",
    "note",
    "letter_language",
    "counted_as",
)
