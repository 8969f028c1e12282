"""What a canvas is told: text, lines, boxes and bookmarks, each setting written only where it changes.

Text is marked with the element of the paper's structure that it belongs to. Where things lie is the caller's.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from reportlab.pdfgen.canvas import Canvas

from fieldapp.papers import typeface
from fieldapp.papers.structure import ARTIFACT, Element, Structure

INK, SOFT, LINE, SHADE, ACCENT = 0.10, 0.34, 0.72, 0.93, (0.122, 0.365, 0.298)


class Ink:
    """Draws on one canvas, page after page."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.structure = Structure()
        self._open: Element | None = None
        self._grey = -1.0  # the fill that is set; negative: not known
        self._pen: tuple[float, float, Any] | None = None

    def begin_page(self) -> None:
        """A new page: nothing is set, nothing is marked."""
        self.structure.new_page()
        self._forget()

    def end_page(self) -> None:
        """The page is whole."""
        self._mark(None)
        self.canvas.showPage()

    def text(
        self, element: Element, x: float, y: float, text: str, size: float, bold: bool, grey: float
    ) -> None:
        """One line of text that belongs to an element."""
        if element is not self._open:
            self._mark(element)
        if grey != self._grey:
            self.canvas.setFillGray(grey)
            self._grey = grey
        typeface.draw(self.canvas, x, y, text, size, bold)

    def line(self, x1: float, y1: float, x2: float, y2: float, width: float, grey: float, dash: Any) -> None:
        """A straight line."""
        self._set_pen(width, grey, dash)
        self.canvas.addLiteral(f"{x1:.2f} {y1:.2f} m {x2:.2f} {y2:.2f} l S")

    def box(self, x: float, y: float, wide: float, high: float, fill: float | None, width: float) -> None:
        """A filled rectangle without an edge, or an empty one with an edge."""
        if fill is not None:
            self.canvas.setFillGray(fill)
            self._grey = fill
        else:
            self._set_pen(width, INK, ())
        self.canvas.addLiteral(f"{x:.2f} {y:.2f} {wide:.2f} {high:.2f} re {'S' if fill is None else 'f'}")

    def accent(self, x: float, y: float, wide: float) -> None:
        """The coloured rule under a title."""
        self.canvas.setFillColorRGB(*ACCENT)
        self._grey = -1.0
        self.canvas.rect(x, y, wide, 1.4, stroke=0, fill=1)

    def drawn(self, element: Element | None, drawing: Callable[[Canvas], None]) -> None:
        """Any drawing, part of an element (a figure) or of none."""
        if element is not None and element is not self._open:
            self._mark(element)
        drawing(self.canvas)
        self._forget()

    def bookmark(self, title: str, level: int, y: float) -> None:
        """An outline entry that leads to this height of this page."""
        key = f"b{self.canvas.getPageNumber()}-{y:.1f}-{level}"
        self.canvas.bookmarkHorizontal(key, 0, y)
        self.canvas.addOutlineEntry(title, key, level=level)

    def _mark(self, element: Element | None) -> None:
        """Close what is open and open what follows (ISO 32000-1, 14.6)."""
        if self._open is not None:
            self.canvas.addLiteral("EMC")
        if element is ARTIFACT:
            self.canvas.addLiteral("/Artifact BMC")
        elif element is not None:
            self.canvas.addLiteral(f"/{element.tag} <</MCID {self.structure.mark(element)}>> BDC")
        self._open = element

    def _set_pen(self, width: float, grey: float, dash: Any) -> None:
        if (width, grey, dash) != self._pen:
            self.canvas.setStrokeGray(grey)
            self.canvas.setLineWidth(width)
            self.canvas.setDash(list(dash))
            self._pen = (width, grey, dash)

    def _forget(self) -> None:
        self._grey, self._pen = -1.0, None
