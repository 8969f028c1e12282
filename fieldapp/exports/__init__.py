"""What other systems read. ``EXPORTS`` names every format."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from fieldapp.exports.children_json import export_json
from fieldapp.exports.tables_csv import export_csv
from fieldapp.papers.context import PaperContext
from shared.records.standing import Standing

Export = Callable[[Path, Sequence[Standing], PaperContext], list[Path]]

#: format name -> function(folder, standings, context) -> the files written
EXPORTS: Mapping[str, Export] = {"csv": export_csv, "json": export_json}

__all__ = ["EXPORTS", "export_csv", "export_json"]
