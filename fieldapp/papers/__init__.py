"""Everything printed. ``PAPERS`` names every paper; ``make_papers`` makes all or some into a folder."""

from fieldapp.papers.context import (
    Office,
    PaperContext,
    PaperMade,
    ReadinessRecord,
    Unprintable,
    WatchRecord,
)
from fieldapp.papers.registry import (
    PAPERS,
    Paper,
    chosen_papers,
    draw_paper,
    keep_paper,
    make_papers,
    not_yet_screened_list,
    rescreen_list,
)

__all__ = [
    "PAPERS",
    "Office",
    "Paper",
    "PaperContext",
    "PaperMade",
    "ReadinessRecord",
    "Unprintable",
    "WatchRecord",
    "chosen_papers",
    "draw_paper",
    "keep_paper",
    "make_papers",
    "not_yet_screened_list",
    "rescreen_list",
]
