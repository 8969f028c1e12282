"""Pictures of a paper's pages, made in memory: the port, and PDFium behind it where the machine has it.

Nothing may be written here: a paper that is only looked at leaves no trace on the disk. One thread at a time may use
a ``Pages`` (PDFium is not made for more). An Android tablet has a renderer of its own (``android/pages.py``).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib.util import find_spec
from typing import Any, Protocol

from shared.errors import Refused


@dataclass(frozen=True, slots=True)
class Picture:
    """One page as pixels: four bytes each (red, green, blue, opacity), rows from the top."""

    wide: int
    high: int
    pixels: bytes = field(repr=False)


class Pages(Protocol):
    """An open paper."""

    count: int
    shape: float  # the height of a page by its width

    def picture(self, page: int, wide: int) -> Picture:
        """A page (from 0) as a picture of this width."""

    def close(self) -> None:
        """Forget the paper."""


def can_show() -> bool:
    """Whether this machine can show pages."""
    return _pdfium() is not None or _android() is not None


def open_pages(pdf: bytes) -> Pages:
    """Open a paper that is in memory; raises ``Refused`` where this machine cannot show pages."""
    pdfium = _pdfium()
    if pdfium is not None:
        return _PdfiumPages(pdfium, pdf)
    android = _android()
    if android is not None:
        return android.AndroidPages(pdf)  # type: ignore[no-any-return]
    raise Refused(
        "This machine cannot show the pages of a paper.",
        kept="Nothing was printed or saved.",
        todo="Save the paper and look at it in another program.",
    )


def _pdfium() -> Any:
    """PDFium's bindings, or None where they are not there or their library does not fit the machine."""
    try:
        import pypdfium2
    except (ImportError, OSError):
        return None
    return pypdfium2


def _android() -> Any:
    """The tablet's own renderer, or None anywhere else."""
    if find_spec("jnius") is None:
        return None
    from fieldapp.platform.android import pages

    return pages if pages.is_there() else None


class _PdfiumPages:
    """PDFium, by its bindings ``pypdfium2``."""

    def __init__(self, pdfium: Any, pdf: bytes) -> None:
        self._paper = pdfium.PdfDocument(pdf)
        self.count = len(self._paper)
        wide, high = self._paper.get_page_size(0)
        self.shape = high / wide

    def picture(self, page: int, wide: int) -> Picture:
        sheet = self._paper[page]
        try:
            drawn = sheet.render(
                scale=wide / sheet.get_width(), prefer_bgrx=True, rev_byteorder=True, may_draw_forms=False
            )
            rows, length = bytes(drawn.buffer), drawn.width * 4
            if drawn.stride != length:
                starts = range(0, drawn.stride * drawn.height, drawn.stride)
                rows = b"".join(rows[start : start + length] for start in starts)
            return Picture(drawn.width, drawn.height, rows)
        finally:
            sheet.close()

    def close(self) -> None:
        self._paper.close()
