#!/usr/bin/env bash
# Quietbell onto a machine without a network: a folder of wheels, installed from nothing but that folder.
#
#   demo/offline-install.sh FOLDER              fetch: build the wheel, and fetch every package it needs (network)
#   demo/offline-install.sh FOLDER --install    install into FOLDER/app, offline, and start the app once
#   demo/offline-install.sh FOLDER --all        both, one after the other
#
# Carry FOLDER to the other machine in between; it must have the same kind of system and Python. Where there is no
# screen the app starts on a virtual one (Xvfb). A picture of it is left in FOLDER/app.png; the run fails if the
# window stays empty or the app ends by itself.
set -euo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
house="$(cd "$here/.." && pwd)"
[ $# -ge 1 ] || { sed -n '2,9p' "$0" | cut -c3-; exit 2; }
mkdir -p "$1"
folder="$(cd "$1" && pwd)"
what="${2:---fetch}"
python="${QB_PYTHON:-python3}"
say() { printf '%s\n' "$*"; }

fetch() {
    say "Building the wheel and fetching what it needs into $folder/wheels"
    local tools="$folder/tools" source="$folder/source"
    [ -x "$tools/bin/python" ] || "$python" -m venv "$tools"
    # Built from git's files in a folder of its own: no build folder is left in the repository, no stray file in the wheel.
    rm -rf "$source" && mkdir "$source"
    (cd "$house" && git ls-files -z README.md pyproject.toml shared sync fieldapp assets |
        xargs -0 cp --parents -t "$source")
    "$tools/bin/python" -m pip wheel -q --disable-pip-version-check --no-deps -w "$folder/wheels" "$source"
    "$tools/bin/python" -m pip download -q --disable-pip-version-check --only-binary :all: \
        -d "$folder/wheels" "$folder"/wheels/quietbell-*.whl
    rm -rf "$source"
    say "$(find "$folder/wheels" -name '*.whl' | wc -l) wheels, $(du -sh "$folder/wheels" | cut -f1)"
}

install() {
    say "Installing into $folder/app from the folder alone"
    rm -rf "$folder/app"
    "$python" -m venv "$folder/app"
    env -u PYTHONPATH PIP_CONFIG_FILE=/dev/null "$folder/app/bin/python" -m pip install -q \
        --disable-pip-version-check --no-index --find-links "$folder/wheels" quietbell
    say "Starting the app from another folder"
    cd "$folder"
    if [ -n "${DISPLAY:-}" ]; then
        show
    else
        xvfb-run -a -s '-screen 0 1280x800x24' "$here/offline-install.sh" "$folder" --show
    fi
}

show() {
    local away
    away="$(mktemp -d)"
    cd "$away"
    XDG_DATA_HOME="$away/data" "$folder/app/bin/quietbell" >"$folder/app.log" 2>&1 &
    local app=$! picture="$folder/app.png" seconds=0
    rm -f "$picture"
    until [ "$seconds" -ge 60 ]; do
        sleep 2
        seconds=$((seconds + 2))
        kill -0 "$app" 2>/dev/null || { say "The app ended by itself:"; cat "$folder/app.log"; return 1; }
        "$folder/app/bin/python" - "$picture" <<'END' && break
import sys
from PIL import ImageGrab

picture = ImageGrab.grab()
picture.save(sys.argv[1])
sys.exit(len(picture.convert("RGB").getcolors(2**24)) < 20)  # a window without words has hardly a colour
END
    done
    kill "$app"
    wait "$app" 2>/dev/null || true
    rm -rf "$away"
    [ "$seconds" -lt 60 ] || { say "The window stayed empty: $picture"; return 1; }
    say "The app was on the screen after $seconds s: $picture"
}

case "$what" in
    --fetch) fetch ;;
    --install) install ;;
    --show) show ;;
    --all) fetch && install ;;
    *) say "Unknown: $what"; exit 2 ;;
esac
