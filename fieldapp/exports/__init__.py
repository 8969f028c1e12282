"""What other systems read. ``EXPORTS`` names every format."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from fieldapp.exports.children_json import export_json
from fieldapp.exports.fhir import export_fhir
from fieldapp.exports.statistics_csv import export_statistics
from fieldapp.exports.tables_csv import export_csv
from fieldapp.papers.context import PaperContext
from shared.records.standing import Standing

Export = Callable[[Path, Sequence[Standing], PaperContext], list[Path]]

#: format name -> function(folder, standings, context) -> the files written
EXPORTS: Mapping[str, Export] = {
    "csv": export_csv,
    "json": export_json,
    "fhir": export_fhir,
    "statistics": export_statistics,
}

__all__ = ["EXPORTS", "Export", "export_csv", "export_fhir", "export_json", "export_statistics"]
