#!/usr/bin/env bash
# The tests, from a fresh clone on: sets everything up, then style, types and tests.
#
#   tests/run.sh [PYTEST ARGUMENTS]
#
# Ends with pytest's exit status, or with 1 where the tests pass and style or types do not.
set -uo pipefail
here="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)"
# shellcheck source=demo/setup.sh
. "$here/../demo/setup.sh" test || exit 1
cd "$QB_ROOT" || exit 1

checks=0
"$QB_PYTHON" -m ruff check . || checks=1
"$QB_PYTHON" -m ruff format --check . || checks=1
"$QB_PYTHON" -m mypy || checks=1

xvfb-run -a -s '-screen 0 1280x800x24' "$QB_PYTHON" -m pytest -n 2 "$@"
tests=$?
[ "$checks" -eq 0 ] || printf '%s\n' "Style or types: see the lines above the tests." >&2
[ "$tests" -ne 0 ] && exit "$tests"
exit "$checks"
