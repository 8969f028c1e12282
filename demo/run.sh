#!/usr/bin/env bash
# The demo, from a fresh clone on: sets everything up, then plays a whole screening day through the real commands.
#
#   demo/run.sh [--no-window] [FOLDER]      FOLDER: where everything goes (default out/demo)
set -euo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
# shellcheck source=demo/setup.sh
. "$here/setup.sh" ""
export PYTHONPATH="$QB_ROOT${PYTHONPATH:+:$PYTHONPATH}"
exec "$QB_PYTHON" -m demo.run "$@"
