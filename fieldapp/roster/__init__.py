"""Class lists as schools send them, read into rows or into reasons."""

from __future__ import annotations

from fieldapp.roster.compare import RosterChange, compare_rosters
from fieldapp.roster.reader import read_roster
from fieldapp.roster.reading import AmbiguousDates, NotARoster, RosterReading, RosterRow, RowProblem

__all__ = [
    "AmbiguousDates",
    "NotARoster",
    "RosterChange",
    "RosterReading",
    "RosterRow",
    "RowProblem",
    "compare_rosters",
    "read_roster",
]
