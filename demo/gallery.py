"""Photographs every screen and state of the app, in every size, text size and language, and judges them.

    python demo/gallery.py [OUT] [--only SIZE] [--language en] [--scale 1.0]   # OUT: out/gallery
    python demo/gallery.py --readme                                           # the few pictures in README.md

The visit on the pictures is invented. Pictures land in ``OUT/SIZE-SCALE-LANGUAGE/NAME.png``. What is wrong with the
look of a screen (a target too small, words cut or over each other) is printed, and the exit status is then 1. Without
a display it starts one of its own (Xvfb).
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

#: name -> (pixels wide, pixels high, density)
SIZES = {"tablet": (1280, 800, 1.0), "sharp": (1920, 1200, 2.0), "small": (800, 480, 1.0)}
SCALES = (1.0, 1.3)
#: The pictures in README.md, by the name that they have there.
README = {
    "walk": "walk-second-tone",
    "list": "list",
    "today": "today",
    "readiness": "readiness-listening",
    "result": "result-rescreen",
    "threshold": "threshold-under-way",
    "doubt": "doubt",
    "book": "book",
    "child": "child",
    "findings": "findings-typed",
}
LANGUAGES = ("en", "es")


def main() -> int:
    """Take all pictures, or those asked for; each set runs in a process of its own."""
    parser = argparse.ArgumentParser(prog="demo/gallery.py", description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path, nargs="?", default=ROOT / "out" / "gallery")
    parser.add_argument("--readme", action="store_true", help="make the pictures of README.md anew")
    parser.add_argument("--only", choices=SIZES, action="append")
    parser.add_argument("--language", choices=LANGUAGES, action="append")
    parser.add_argument("--scale", type=float, action="append")
    parser.add_argument("--name", action="append", help="only pictures whose name begins so")
    parser.add_argument("--set", nargs=3, metavar=("SIZE", "SCALE", "LANGUAGE"), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.set:
        from demo.gallery_pictures import take

        size, scale, language = options.set
        return take(options.out, SIZES[size], float(scale), language, options.name or [])
    if options.readme:
        return _readme(options)
    worst = 0
    for size in options.only or SIZES:
        for scale in options.scale or SCALES:
            for language in options.language or LANGUAGES:
                worst = max(worst, _one_set(options, size, scale, language))
    return worst


def _readme(options: argparse.Namespace) -> int:
    """Make one set and keep the chosen pictures, small enough for a repository."""
    from PIL import Image

    status = _one_set(options, "tablet", 1.0, "en")
    pictures = ROOT / "assets" / "pictures"
    pictures.mkdir(exist_ok=True)
    for name, taken in README.items():
        with Image.open(options.out / "tablet-1.0-en" / f"{taken}.png") as picture:
            small = picture.convert("RGB").quantize(128, dither=Image.Dither.NONE)
        small.save(pictures / f"{name}.png", optimize=True)
    return status


def _one_set(options: argparse.Namespace, size: str, scale: float, language: str) -> int:
    folder = options.out / f"{size}-{scale}-{language}"
    command = [sys.executable, str(Path(__file__)), str(folder), "--set", size, str(scale), language]
    for name in options.name or []:
        command += ["--name", name]
    if not os.environ.get("DISPLAY"):
        if shutil.which("xvfb-run") is None:
            print("There is no display, and no Xvfb to make one: apt-get install xvfb", file=sys.stderr)
            return 1
        command = ["xvfb-run", "-a", "-s", "-screen 0 1920x1200x24", *command]
    done = subprocess.run(command, cwd=ROOT, check=False)
    count = len(list(folder.glob("*.png")))
    print(f"{folder}: {count} pictures" + (f", ended with {done.returncode}" if done.returncode else ""))
    return done.returncode


if __name__ == "__main__":
    raise SystemExit(main())
