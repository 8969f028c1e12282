"""The page frame that all papers share: margins, heading, footer with cautions and page x of y, bookmarks, saving.

A ``Sheet`` keeps what is drawn on each page until its section (a whole list, or one letter) is complete, because
only then is "page x of y" known; then it draws the pages for good. What a paper says may not live here.
Lengths are points; y grows upward from the foot of the page.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from fieldapp.papers import typeface
from fieldapp.papers.context import PaperContext, PaperMade, Unprintable
from fieldapp.papers.ink import INK, LINE, SHADE, SOFT, Ink
from fieldapp.papers.structure import ARTIFACT, Element
from fieldapp.papers.wording import LANGUAGES, Words, full_name, words
from shared.hearing.protocol import Protocol
from shared.hearing.protocol_marks import by_mark
from shared.records.standing import Standing

MARGIN = 46.0
FOOT = 24.0  # below the last line of the footer
HAND = 8 * 72 / 25.4  # 8 mm: the height of a line that a hand writes on
SMALL, BODY, TITLE = 7.0, 9.5, 18.0
#: How far a line of the footer is set smaller before its last word goes to a line of its own.
SMALLER = 0.9
_HOLDERS = {"Document", "Sect", "Table", "TR"}  # elements that hold others, never text itself


__all__ = [
    "BODY",
    "HAND",
    "INK",
    "LINE",
    "MARGIN",
    "SHADE",
    "SMALL",
    "SOFT",
    "Sheet",
    "marks_words",
    "protocol_line",
]


class Sheet:
    """One PDF while it is being made."""

    def __init__(
        self,
        path: Path,
        context: PaperContext,
        *,
        title: str,
        code: str,
        left: float = MARGIN,
        home: bool = False,
    ) -> None:
        self.context = context
        self.home = home  # it goes to a family: what only the office has to act on is said quietly
        self.words = words(context.language)
        self.number = context.document_number(code)
        self.width, self.height = context.page
        self.left, self.right = left, self.width - left
        self.top, self.bottom = self.height - MARGIN, 0.0
        self.y = self.top
        self._path = path
        self._pages: list[list[tuple[Callable[..., None], tuple[Any, ...]]]] = []
        self._done = 0
        self.running_head = ""  # what a section's further pages say at their top
        self._numbers: dict[str, str] = {}
        self._unprintable: dict[str, Unprintable] = {}
        self._pdf = io.BytesIO()
        canvas = Canvas(
            self._pdf,
            pagesize=context.page,
            pageCompression=1,
            invariant=1,
            lang=self.words.language,
            initialFontName=typeface.base_font(),
        )
        self.bottom = max(self._foot(self.number, words(spoken))[-1] for spoken in LANGUAGES) + 8
        canvas.setDateFormatter(lambda *_: f"D:{context.issued:%Y%m%d}000000Z")
        canvas.setTitle(typeface.cleaned(f"{title} · {context.school}"))
        canvas.setSubject(typeface.cleaned(f"{self.number} · {title}"))
        canvas.setAuthor(typeface.cleaned(context.office.name or context.school))
        canvas.setCreator("Quietbell")
        canvas.setViewerPreference("DisplayDocTitle", "true")
        canvas.showOutline()
        self._ink = Ink(canvas)
        self._within: list[Element] = [self._ink.structure.document]

    # -- pages and sections

    def new_page(self) -> None:
        """Begin a page; ``y`` is at its top, below the running head where the section goes on."""
        self._pages.append([])
        self.y = self.top
        if len(self._pages) > 1 and self.running_head:
            self.y -= 8
            with self.artifact():
                self.text(self.left, self.y, self.running_head, SMALL + 1, grey=SOFT)
            self.y -= 4

    def open(self, tag: str, **told: Any) -> None:
        """What is written from here to ``close`` belongs to one element of the structure (see ``structure``)."""
        self._within.append(Element(tag, self._within[-1], **told))

    def close(self) -> None:
        """The innermost open element is complete."""
        self._within.pop()

    @contextmanager
    def element(self, tag: str, **told: Any) -> Iterator[None]:
        """What is written within belongs to one element of the paper's structure."""
        self.open(tag, **told)
        try:
            yield
        finally:
            self.close()

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """What is written within is no part of the text: page furniture, a title repeated."""
        self._within.append(ARTIFACT)
        try:
            yield
        finally:
            self._within.pop()

    def end_section(self, number: str = "", language: str = "") -> None:
        """Draw the pages since the last section for good, numbered page 1 of however many they are."""
        footer = self._footer(number or self.number, words(language) if language else self.words)
        for index, page in enumerate(self._pages, start=1):
            self._ink.begin_page()
            for draw, arguments in page:
                draw(*arguments)
            footer(index, len(self._pages))
            self._ink.end_page()
        self._done += len(self._pages)
        self._pages = []
        self.running_head = ""

    def about(self, standing: Standing, number: str = "") -> None:
        """Note that the paper is about this child, under this number, and whether its name can be printed."""
        person = standing.person
        self._numbers[standing.child] = number or self.number
        texts = (full_name(person), person.class_name, person.guardian, *person.address, standing.note)
        if letters := "".join(dict.fromkeys("".join(map(typeface.unprintable, texts)))):
            self._unprintable[standing.child] = Unprintable(standing.child, person.student_number, letters)

    @property
    def unprintable(self) -> tuple[Unprintable, ...]:
        """The names so far that cannot be printed whole."""
        return tuple(self._unprintable.values())

    def save(self) -> PaperMade:
        """The paper, complete, in memory: writing it is the caller's."""
        with _binary_streams():
            if self._pages:
                self.end_section()
            self._ink.structure.write(self._ink.canvas._doc)
            self._ink.canvas.save()
        pdf = self._pdf.getvalue()
        return PaperMade(self._path, self._done, self.number, self._numbers, self.unprintable, pdf)

    # -- drawing; each is kept with its page until the section ends

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = BODY,
        *,
        bold: bool = False,
        align: str = "left",
        grey: float = INK,
    ) -> None:
        """One line; ``x`` is its left end, its right end or its middle."""
        if not text:
            return
        if align != "left":
            wide = typeface.width(text, size, bold)
            x -= wide if align == "right" else wide / 2
        element = self._within[-1]
        if element.tag in _HOLDERS:
            element = Element("P", element)
        self._pages[-1].append((self._ink.text, (element, x, y, text, size, bold, grey)))

    def paragraph(
        self,
        text: str,
        size: float = BODY,
        *,
        bold: bool = False,
        leading: float = 1.38,
        x: float | None = None,
        room: float | None = None,
        grey: float = INK,
        tag: str = "P",
    ) -> None:
        """Text in lines from ``y`` downward; ``y`` moves below it. A page break where the page is full."""
        x = self.left if x is None else x
        with self.element(tag):
            for line in typeface.wrap(text, room or self.right - x, size, bold):
                if self.y - size * leading < self.bottom:
                    self.new_page()
                self.y -= size * leading
                self.text(x, self.y, line, size, bold=bold, grey=grey)

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        *,
        width: float = 0.5,
        grey: float = LINE,
        dash: Any = (),
    ) -> None:
        """A straight line."""
        self._pages[-1].append((self._ink.line, (x1, y1, x2, y2, width, grey, dash)))

    def box(
        self, x: float, y: float, wide: float, high: float, *, fill: float | None = None, width: float = 0.6
    ) -> None:
        """A rectangle: filled with a grey and without an edge, or an empty one with an edge."""
        self._pages[-1].append((self._ink.box, (x, y, wide, high, fill, width)))

    def draw(self, drawing: Callable[[Canvas], None]) -> None:
        """Anything else, drawn straight on the canvas when the page is."""
        element = self._within[-1] if self._within[-1].tag == "Figure" else None
        self._pages[-1].append((self._ink.drawn, (element, drawing)))

    def bookmark(self, title: str, level: int = 0) -> None:
        """An outline entry that leads to this page."""
        self._pages[-1].append((self._ink.bookmark, (typeface.cleaned(title), level, self.y)))

    def heading(self, title: str, intro: str = "", number: str = "") -> None:
        """The title block at the top of a page: title, school, visit, number, date of issue."""
        named = self.words("document", number=number or self.number)
        self.running_head = self.running_head or f"{title} · {self.visit}"
        room = self.right - self.left - 14 - typeface.width(named, SMALL + 1)
        size = min(TITLE, TITLE * room / max(typeface.width(title, TITLE, True), 1))
        self.y -= TITLE
        with self.element("H1"):
            self.text(self.left, self.y, title, size, bold=True)
        self.text(self.right, self.y + 4, named, SMALL + 1, align="right", grey=SOFT)
        self.text(self.right, self.y - 14, self.issued, SMALL + 1, align="right", grey=SOFT)
        room = self.right - self.left - 14 - typeface.width(self.issued, SMALL + 1)
        for line in typeface.wrap(self.visit, room, BODY):
            self.y -= 14
            self.text(self.left, self.y, line, BODY)
        self.y -= 7
        self._pages[-1].append((self._ink.accent, (self.left, self.y, self.right - self.left)))
        if intro:
            self.y -= 3
            self.paragraph(intro, BODY - 0.5, grey=SOFT)
        self.y -= 6

    @property
    def visit(self) -> str:
        """The school and the days of the visit."""
        days = self.words.days(self.context.visit_dates)
        return " · ".join(filter(None, (self.context.school, days and self.words("visit", days=days))))

    @property
    def issued(self) -> str:
        """The date of issue, in words."""
        return self.words("issued", date=self.words.long_date(self.context.issued))

    # -- what the canvas really does

    def _foot(self, number: str, say: Words) -> tuple[list[tuple[str, float]], float]:
        """The footer's lines with their sizes, the last beside the page number, and its height from the foot."""
        context = self.context
        days = say.days(context.visit_dates)
        visit = " · ".join(filter(None, (context.school, days and say("visit", days=days))))
        issued = say("issued", date=say.long_date(context.issued))
        beside = " · ".join((say("document", number=number), visit, issued))
        said = f"{protocol_line(context, say, home=self.home)} {say('caution')}"
        lines = [(line, SMALL) for line in typeface.wrap(said, self.right - self.left, SMALL)]
        room = self.right - self.left - 66
        size = max(SMALLER * SMALL, min(SMALL, SMALL * room / typeface.width(beside, SMALL)))
        if len(found := typeface.wrap(beside, room, size)) > 1:
            size, found = SMALL, typeface.wrap(beside, room, SMALL)
        lines += [(line, size) for line in found]
        return lines, FOOT + 9 * len(lines)

    def _footer(self, number: str, say: Words) -> Callable[[int, int], None]:
        """Draws the foot of a page: the protocol and its standing, the cautions, document number, page x of y."""
        lines, high = self._foot(number, say)

        def draw(page: int, pages: int) -> None:
            y = high
            self._ink.line(self.left, y, self.right, y, 0.5, LINE, ())
            for line, size in lines:
                y -= 9
                self._ink.text(ARTIFACT, self.left, y, line, size, False, SOFT)
            numbered = say("page", page=page, pages=pages)
            wide = typeface.width(numbered, SMALL + 1, True)
            self._ink.text(ARTIFACT, self.right - wide, y, numbered, SMALL + 1, True, INK)

        return draw


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Without ReportLab's text form (ASCII85) of compressed streams: a fifth smaller, and faster."""
    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def protocol_line(context: PaperContext, say: Words, *, home: bool = False) -> str:
    """The protocol, what it is a copy of, its source, when it was looked up, and whether a person has verified it.

    On staff papers NOT VERIFIED stands out. A letter home says it in small, plain words: a family can do nothing,
    and the office is warned before letters are saved (``fieldapp.services.printing.must_be_warned``).
    """
    protocol = context.protocol
    key = "protocol" if protocol.checked else "protocol_unchecked"
    source = say.sentence(protocol.source) if protocol.source else say("no_source")
    title, first, local = say.sentence(protocol.title), "", ""
    if protocol.copy_of is not None:
        first = say.sentence(protocol.copy_of.title)
        if protocol.copy_of.title not in protocol.title:  # else it says so itself
            key = "protocol_copy"
        local = _set_locally(protocol.copy_of.changed, say, home=home)
    named = say(key, title=title, of=first, source=source, checked=say.short_date(protocol.checked))
    unverified = "not_verified_home" if home else "not_verified"
    return " ".join(filter(None, (named, local, say("verified" if protocol.verified else unverified))))


def _set_locally(changed: Sequence[str], say: Words, *, home: bool) -> str:
    """What a local copy changed, field by field; a letter home says only that something is."""
    if not changed:
        return ""
    fields = ", ".join(say(f"field.{name}") for name in changed)
    return say("set_locally_home") if home else say("mark.set-locally", fields=fields)


def marks_words(protocol: Protocol, say: Words) -> str:
    """How each field of the protocol's rule is known, mark by mark."""
    return " ".join(
        say(f"mark.{mark.replace(' ', '-')}", fields=", ".join(say(f"field.{name}") for name in names))
        for mark, names in by_mark(protocol).items()
    )
