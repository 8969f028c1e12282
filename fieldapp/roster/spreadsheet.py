"""From an .xlsx workbook to numbered rows of cells, by openpyxl's read-only reader. Nothing about children.

The zip has been looked through (``archive``) before it comes here.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from fieldapp.roster.lines import Line
from fieldapp.roster.reading import NotARoster

_WIDEST = 512  # columns; what lies to the right is no class list
_PADDED = re.compile(r"0{2,}")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One visible sheet. Rows are read anew at each call of ``lines``; empty rows after the last are left out."""

    title: str
    _sheet: Any

    def lines(self) -> Iterator[Line]:
        """The rows, numbered as the spreadsheet numbers them."""
        blank: list[int] = []
        try:
            for number, cells in enumerate(self._sheet.iter_rows(), start=1):
                texts = tuple(_text(cell) for cell in cells[:_WIDEST])
                if not any(texts):
                    blank.append(number)
                    continue
                for waiting in blank:
                    yield Line(waiting, ())
                blank.clear()
                yield Line(number, texts)
        except Exception:  # a damaged sheet fails in as many ways as it has parts
            raise _damaged() from None


def read_sheets(data: bytes) -> list[Sheet]:
    """The visible sheets of a workbook, in order. Raises ``NotARoster`` where it cannot be opened."""
    from openpyxl import load_workbook  # heavy; only those who bring a workbook pay for it

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and extensions that do not matter here
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
    except Exception:  # as above
        raise _damaged() from None
    sheets: list[Sheet] = []
    for sheet in book.worksheets:
        if sheet.sheet_state == "visible":
            sheet.reset_dimensions()  # the size that a file declares may be a lie
            sheets.append(Sheet(sheet.title, sheet))
    return sheets


def _text(cell: Any) -> str:
    """A cell as a person would have typed it into a CSV file; dates in ISO 8601."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    text = str(value)
    form = cell.number_format or ""
    # A number shown with leading zeros (format 00000) is a number or post code whose zeros belong to it.
    return text.zfill(len(form)) if isinstance(value, int) and _PADDED.fullmatch(form) else text


def _damaged() -> NotARoster:
    return NotARoster("This workbook is damaged and cannot be read.", todo="Ask the school to save it again.")
