"""CSV files that a spreadsheet opens rightly and safely.

UTF-8 with a byte order mark, comma, CRLF (RFC 4180), ISO dates. A text that a spreadsheet would take for a formula
(it begins with = + - @, a tab or a carriage return) gets an apostrophe before it, as the OWASP page on CSV injection
advises.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from fieldapp.platform.files import write_whole

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
Cell = str | int | float | bool | None


def safe(cell: Cell) -> str:
    """A cell as written: numbers as they are, yes and no in words, text never a formula."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int | float):
        return str(cell)
    return f"'{cell}" if _is_formula(cell) else cell


def _is_formula(cell: str) -> bool:
    return cell.lstrip("' \u00a0\u3000").startswith(_FORMULA)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """The file's text, without the byte order mark."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([safe(cell) for cell in row] for row in rows)
    return out.getvalue()


def write_csv(path: Path, columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> Path:
    """Write the file whole or not at all; raises ``WriteRefused``."""
    write_whole(path, ("\ufeff" + csv_text(columns, rows)).encode())
    return path
