# Sourced by the run scripts. `set_up EXTRA` finds a Python, makes .venv ready and puts it first in PATH; EXTRA names
# an extra of pyproject.toml, or is empty for the program's own packages. It never calls sudo: where something is
# missing it prints the one line that mends it, and only a script that runs as root carries that line out itself.

# A Python named from where the script was called stays that one after going to the root.
case ${ETSCHED_PYTHON:-} in
    '' | /*) ;;
    */*) ETSCHED_PYTHON=$PWD/$ETSCHED_PYTHON ;;
esac
ROOT=$(CDPATH='' cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
cd -- "$ROOT"
# A foreign module path would shadow what the pinned packages bring.
unset PYTHONHOME PYTHONPATH

# One line on stderr for each word.
say() { printf '%s\n' "$@" >&2; }

# Set PYTHON to the first interpreter that is new enough and can make a virtual environment. The one behind .venv
# comes first, so that a Python installed later does not force a new download. VERSION is that of the first one new
# enough, whether or not it has the venv module.
find_python() {
    local name found
    PYTHON='' VERSION=''
    for name in ${ETSCHED_PYTHON:+"$ETSCHED_PYTHON"} .venv/bin/python python3.13 python3.12 python3.11 python3; do
        while IFS= read -r found; do
            "$found" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || continue
            VERSION=${VERSION:-$("$found" -c 'import sys; print("%d.%d" % sys.version_info[:2])')}
            if "$found" -c 'import ensurepip, venv' 2>/dev/null; then
                PYTHON=$found
                return 0
            fi
        done < <(type -aP "$name")
        if [ "$name" = "${ETSCHED_PYTHON:-}" ]; then
            say "ETSCHED_PYTHON=$name is no Python 3.11 or newer with a working venv module; name another or unset it."
            exit 3
        fi
    done
    return 3
}

# Print the line that would bring what find_python or the making of an environment missed.
mending_line() {
    local version
    if command -v apt-get >/dev/null; then
        if [ -n "$VERSION" ]; then
            echo "apt-get install -y python$VERSION-venv"
            return
        fi
        for version in 3.13 3.12 3.11 3.14; do
            if apt-cache show "python$version-venv" >/dev/null 2>&1; then
                echo "apt-get install -y python$version python$version-venv"
                return
            fi
        done
        if ! apt-cache show python3 >/dev/null 2>&1; then  # apt knows no packages at all yet
            echo "apt-get update && apt-get install -y python3 python3-venv"
            return
        fi
    fi
    echo "ETSCHED_PYTHON=/path/to/python3.11 bash $0    # after installing Python 3.11 or newer with venv"
}

prepare() { find_python && "$PYTHON" .ci/venv.py "$1"; }

set_up() {
    local code=0 line
    if ! { mkdir -p .cache && exec 9>>.cache/venv.lock; } 2>/dev/null; then
        say "$ROOT/.cache cannot be written; run as the user who owns it, or remove it."
        exit 1
    fi
    prepare "$1" || code=$?
    if [ "$code" = 3 ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        say "Python 3.11 or newer with a working venv module is missing; as root, installing it with apt-get."
        apt-get update -qq >&2 || say "apt-get update failed; trying with the lists that are there."
        line=$(mending_line)
        case $line in
            apt-get*) DEBIAN_FRONTEND=noninteractive bash -c "$line" >&2 || say "That did not work." ;;
        esac
        code=0
        prepare "$1" || code=$?
    fi
    if [ "$code" = 3 ]; then
        say "This needs Python 3.11 or newer with a working venv module. The line that mends it:"
        say "    $(mending_line)"
    fi
    [ "$code" = 0 ] || exit "$code"
    PATH=$ROOT/.venv/bin:$PATH
}

# As root with apt-get, install Debian's packages: the command that says whether they are there, what to call them, the
# packages. Where that does not help it says what would, and fails where everything must run (CI=true).
from_debian() {
    local there=$1 what=$2
    shift 2
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        say "$what is missing; as root, installing it with apt-get."
        apt-get update -qq >&2 || say "apt-get update failed; trying with the lists that are there."
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >&2 && "$there" && return 0
    fi
    missing "$what is missing: apt-get install -y $*"
}

# Say what the tests lack; where everything must run, that is a failure.
missing() {
    say "$1."
    [ "${CI:-}" != true ] || {
        say "CI=true wants every test to run."
        return 1
    }
}

# End a script: say what was skipped, one line each on stdin, and how to get it.
tell_skipped() {
    local lines
    lines=$(cat)
    if [ -n "$lines" ]; then
        say "" "Skipped, and how to get it:"
        printf '%s\n' "$lines" | sed 's/^/  - /' >&2
    else
        say "" "Skipped: nothing."
    fi
}
