#!/usr/bin/env bash
# The app's start with the very versions that a tablet gets (fieldapp/platform/android/packages.toml), on this machine.
#
#   tests/platform/pinned.sh [FOLDER]      FOLDER: where the environment is made (default out/android-pins)
#
# What this cannot show: another processor, Android's own system, and OpenSSL at the recipe's version (the wheel of
# cryptography brings its own). Needs the network once.
set -euo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
house="$(cd "$here/../.." && pwd)"
folder="${1:-$house/out/android-pins}"
python="${QB_PYTHON:-python3}"
[ -x "$folder/bin/python" ] || "$python" -m venv "$folder"
# pycparser is read only while cffi is built, and its old release has no wheel.
"$folder/bin/python" - "$house" >"$folder/pins.txt" <<'END'
import sys, tomllib
from pathlib import Path

said = tomllib.loads(Path(sys.argv[1], "fieldapp/platform/android/packages.toml").read_text("utf-8"))
for name, package in said["packages"].items():
    if name != "pycparser":
        print(f"{name}=={package['version']}")
END
"$folder/bin/python" -m pip install -q --disable-pip-version-check --no-deps -r "$folder/pins.txt"
cd "$house"
"$folder/bin/python" -OO -B "$here/android_start.py"
if [ -n "${DISPLAY:-}" ]; then
    "$folder/bin/python" -OO -B "$here/android_start.py" --window
else
    printf '%s\n' "No display: the screens were not imported (xvfb-run -a $0)."
fi
