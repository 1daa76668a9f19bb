#!/bin/sh
# Makes the virtual environment and installs a lock file into it, on a bare Debian with Python 3.11 or newer.
set -eu
lock=$1
python=${PYTHON:-python3}

make_environment() { "$python" -m venv .venv; }

if [ ! -x .venv/bin/pip ]; then
    if ! make_environment 2>/dev/null; then
        rm -rf .venv
        if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
            apt-get update -qq && apt-get install -y -qq python3-venv
            make_environment
        else
            echo "Python's venv module is missing: apt install python3-venv" >&2
            exit 1
        fi
    fi
fi
.venv/bin/python -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
    echo "Python 3.11 or newer is needed; set PYTHON=/path/to/python3.11" >&2
    exit 1
}
# uv installs the same lock file several times faster; where it cannot be had, pip does it.
.venv/bin/python -m pip install --quiet --disable-pip-version-check "uv>=0.9,<1" 2>/dev/null || true
if [ -x .venv/bin/uv ]; then
    .venv/bin/uv pip install --quiet --require-hashes --python .venv/bin/python -r "$lock"
else
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r "$lock"
fi
