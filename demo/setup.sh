# Sourced by demo/run.sh and tests/run.sh: all the set-up a fresh Debian 12 machine needs, and nothing twice.
#
#   . demo/setup.sh              the app itself
#   . demo/setup.sh test         the app with what its tests need
#
# Afterwards $QB_PYTHON is the Python of the project's own environment (.venv in the repository). Works offline
# once it has run. Nothing is installed into the system's Python.

QB_ROOT="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
QB_VENV="$QB_ROOT/.venv"
QB_PYTHON="$QB_VENV/bin/python"

qb_say() { printf '%s\n' "$*" >&2; }

# Debian packages: a display to draw on without a screen, OpenGL in software, touch input, PDF to pages.
qb_debian_packages() {
    command -v dpkg-query >/dev/null 2>&1 || return 0
    local wanted=(xvfb xauth libgl1 libgles2 libgl1-mesa-dri libegl1 libxi6 libmtdev1 poppler-utils python3-venv)
    local missing=() package
    for package in "${wanted[@]}"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing+=("$package")
    done
    [ "${#missing[@]}" -eq 0 ] && return 0
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null 2>&1; then
            qb_say "These Debian packages are missing: ${missing[*]}"
            qb_say "Install them as root: apt-get install ${missing[*]}"
            return 1
        fi
        as_root=(sudo)
    fi
    qb_say "Installing Debian packages: ${missing[*]}"
    local told
    told="$("${as_root[@]}" apt-get update -qq 2>&1)" || { qb_say "$told"; return 1; }
    told="$("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
        apt-get install -y -qq --no-install-recommends "${missing[@]}" 2>&1)" || { qb_say "$told"; return 1; }
}

# The machine's own Python, if it is new enough and can make environments.
qb_find_python() {
    local candidate
    for candidate in python3 /usr/bin/python3 python3.13 python3.12 python3.11; do
        if "$candidate" -c 'import ensurepip, sys, venv; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$candidate"
            return 0
        fi
    done
    qb_say "Quietbell needs Python 3.11 or newer with venv; none was found."
    return 1
}

# The environment, made once and brought up to date when pyproject.toml changes.
qb_environment() {
    local extra="$1" target="$QB_ROOT" stamp now python
    [ -n "$extra" ] && target="$QB_ROOT[$extra]"
    stamp="$QB_VENV/.quietbell-${extra:-app}"
    now="$(sha256sum "$QB_ROOT/pyproject.toml" | cut -d' ' -f1) $QB_ROOT"
    if [ -x "$QB_PYTHON" ] && [ "$(cat "$stamp" 2>/dev/null)" = "$now" ]; then
        return 0
    fi
    if [ ! -x "$QB_PYTHON" ]; then
        python="$(qb_find_python)" || return 1
        qb_say "Making the environment .venv with $("$python" --version)"
        "$python" -m venv "$QB_VENV" || return 1
    fi
    qb_say "Installing Quietbell${extra:+ with its $extra tools} into .venv"
    "$QB_PYTHON" -m pip install -qq --disable-pip-version-check -e "$target" >&2 || return 1
    printf '%s\n' "$now" >"$stamp"
}

qb_debian_packages || return 1
qb_environment "${1:-}" || return 1
