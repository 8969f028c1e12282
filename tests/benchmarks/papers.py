"""Papers against a bare ReportLab canvas: 600 letters home and a 5,000-child list, and the same text drawn straight.

    python tests/benchmarks/papers.py [--letters 600] [--children 5000] [--rounds 5]

The text, its places and fonts are recorded from the real paper; the bare canvas then draws exactly that, without laying
anything out, and saves it. The measure: the paper takes at most twice as long as the bare canvas. Processor seconds, so
that other work on the machine does not count.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from fieldapp.papers import PAPERS, typeface  # noqa: E402
from shared.records.standing import Standing, Status  # noqa: E402
from tests.papers import conftest as school  # noqa: E402

Drawn = list[list[tuple[float, float, str, str, float]]]


def recorded(make: Callable[[], object]) -> Drawn:
    """What a paper draws: (x, y, text, font, size) on every page."""
    pages: Drawn = [[]]
    draw, show = typeface.draw, Canvas.showPage

    def spy(canvas: Any, x: float, y: float, text: str, size: float, bold: bool = False) -> None:
        pages[-1].append((x, y, text, typeface.base_font(bold), size))
        draw(canvas, x, y, text, size, bold)

    def shown(canvas: Canvas) -> None:
        pages.append([])
        show(canvas)

    typeface.draw, Canvas.showPage = spy, shown  # type: ignore[assignment,method-assign]
    try:
        make()
    finally:
        typeface.draw, Canvas.showPage = draw, show  # type: ignore[method-assign]
    return [page for page in pages if page]


def bare(path: Path, pages: Drawn, size: tuple[float, float]) -> None:
    """The same text, straight on a canvas."""
    rl_config.useA85 = 0  # as the papers do
    canvas = Canvas(str(path), pagesize=size, pageCompression=1)
    for page in pages:
        for x, y, text, font, points in page:
            canvas.setFont(font, points)
            canvas.drawString(x, y, text)
        canvas.showPage()
    canvas.save()


def seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def compare(
    what: str, make: Callable[[], object], folder: Path, size: tuple[float, float], rounds: int
) -> float:
    """Both in turn, several rounds; prints and returns the ratio of the medians."""
    pages = recorded(make)
    ours, straight = [], []
    for _ in range(rounds):
        for cache in (
            typeface.is_plain,
            typeface.runs,
            typeface._shaped,
            typeface._width_per_point,
            typeface._wrapped,
        ):
            cache.cache_clear()  # a paper is printed by a fresh process
        ours.append(seconds(make))
        straight.append(seconds(lambda: bare(folder / "bare.pdf", pages, size)))
    lines = sum(map(len, pages))
    paper, canvas = statistics.median(ours), statistics.median(straight)
    print(f"| {what} | {len(pages)} | {lines:,} | {paper:.2f} s | {canvas:.2f} s | {paper / canvas:.2f} |")
    return paper / canvas


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--letters", type=int, default=600)
    asked.add_argument("--children", type=int, default=5000)
    asked.add_argument("--rounds", type=int, default=5)
    options = asked.parse_args()
    context = school.context()

    def listed(count: int) -> list[Standing]:
        return [replace(school.child(n, Status.RESCREEN)) for n in range(count)]

    print("| what | pages | lines | paper | bare canvas | ratio |\n| --- | --- | --- | --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        for what, count, name in (
            (f"{options.letters} letters home", options.letters, "letters-rescreen"),
            (f"{options.letters} referral letters with reply slip", options.letters, "letters-referral"),
            (f"list of {options.children} children", options.children, "rescreen-list"),
        ):
            children = listed(count)
            if name == "letters-referral":
                children = [replace(child, status=Status.REFERRED) for child in children]
            make = partial(PAPERS[name].make, out / f"{name}.pdf", children, context)
            compare(what, make, out, context.page, options.rounds)


if __name__ == "__main__":
    main()
