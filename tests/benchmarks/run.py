"""All benchmarks, one after the other, and their latest tables into README.md beside this file.

    python tests/benchmarks/run.py                 # all: most of an hour on a quiet machine
    python tests/benchmarks/run.py gather papers   # some
    python tests/benchmarks/run.py --print         # nothing is written

Each benchmark is a program of its own and prints its table; here it only gets what it needs to run, and its words
go between the marks of its section. A benchmark that fails leaves its section as it was. Where a benchmark needs
something that is not there (a second library, root, a display) it says so in its table.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import platform
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date
from itertools import groupby
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE / "README.md"
NAMES = ("store", "touch", "gather", "nearby", "linkage", "papers")
LIBRARIES = ("recordlinkage", "splink")  # what linkage.py is measured against; it can do without


def command(name: str) -> list[str]:
    """The command line of one benchmark, on this machine."""
    words = [sys.executable, str(HERE / f"{name}.py")]
    if name == "linkage" and not all(importlib.util.find_spec(library) for library in LIBRARIES):
        words.append("--alone")
    if name == "touch" and not os.environ.get("DISPLAY") and shutil.which("xvfb-run"):
        words = ["xvfb-run", "-a", "-s", "-screen 0 1280x800x24", *words]
    return words


def machine() -> str:
    """The machine in one sentence: processor, memory, system, and how busy it was before."""
    return (
        f"{os.cpu_count()} cores of {_processor()}, {_memory_gib():.0f} GiB, {_system()}, "
        f"Python {platform.python_version()}; load before the run {os.getloadavg()[0]:.1f}"
    )


def _processor() -> str:
    try:
        said = Path("/proc/cpuinfo").read_text()
    except OSError:
        return platform.processor() or platform.machine()
    found = re.search(r"^model name\s*:\s*(.+)$", said, re.MULTILINE)
    return found[1] if found else platform.machine()


def _memory_gib() -> float:
    return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30


def _system() -> str:
    try:
        return platform.freedesktop_os_release()["PRETTY_NAME"]
    except OSError:
        return platform.system()


def marked(words: str) -> Iterator[str]:
    """Tables and lists as they are, everything else as preformatted text."""

    def is_markdown(line: str) -> bool:
        return line.startswith(("|", "- ")) or not line.strip()

    for plain, lines in groupby(words.strip().splitlines(), key=is_markdown):
        block = [line.rstrip() for line in lines]
        if plain:
            yield from block
        else:
            yield from ("```text", *block, "```")


def put(page: str, name: str, words: str) -> str:
    """The page with the words between the marks of the section; raises ``ValueError`` where there are none."""
    between = re.compile(rf"(<!-- latest: {name} -->\n).*?(<!-- /latest -->)", re.DOTALL)
    changed, times = between.subn(lambda found: f"{found[1]}{words.strip()}\n{found[2]}", page)
    if times != 1:
        raise ValueError(f"README.md has {times} places for {name}")
    return changed


def run(name: str, to_page: bool) -> bool:
    """Run one benchmark; whether it went through."""
    print(f"== {name}: {' '.join(command(name)[1:])}", flush=True)
    where, start = machine(), time.monotonic()
    ran = subprocess.run(
        command(name), stdout=subprocess.PIPE, cwd=HERE.parents[1], encoding="utf-8", check=False
    )
    print(ran.stdout, flush=True)
    if ran.returncode:
        print(f"== {name} failed ({ran.returncode}); its section stays as it was", file=sys.stderr)
        return False
    if to_page:
        minutes = (time.monotonic() - start) / 60
        head = f"{date.today().isoformat()}, {minutes:.1f} minutes; {where}.\n\n"
        page = put(PAGE.read_text("utf-8"), name, head + "\n".join(marked(ran.stdout)))
        PAGE.write_text(page, "utf-8")
    return True


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(NAMES))
    parser.add_argument("--print", action="store_true", help="leave README.md as it is")
    said = parser.parse_args()
    if unknown := set(said.names) - set(NAMES):
        parser.error(f"unknown: {', '.join(sorted(unknown))}")
    went = [run(name, not said.print) for name in said.names or NAMES]
    return 0 if all(went) else 1


if __name__ == "__main__":
    sys.exit(main())
