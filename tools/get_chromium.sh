#!/bin/sh
# Finds a Chromium for the browser tests, or gets Debian's where we may. Never fails: the tests say what is missing.
set -eu
[ -n "${CHROMIUM:-}" ] && exit 0
command -v chromium >/dev/null && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    apt-get update -qq && apt-get install -y -qq chromium poppler-utils || true
fi
command -v chromium >/dev/null || echo "No Chromium: apt install chromium, or set CHROMIUM=/path/to/it" >&2
