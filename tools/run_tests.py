"""Runs every test: on SQLite, then what touches the database again on PostgreSQL, with real servers and a real browser.

Servers come from Python packages and live in a folder of their own, so nothing has to be installed or running.
What cannot be had is named; under CI=true that is a failure.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from tests.servers import postgres, valkey  # noqa: E402

Server = Callable[[Path], AbstractContextManager[str]]
IN_CI = os.environ.get("CI") == "true"
WORKERS = ["-n", str(os.cpu_count() or 2), "--dist", "loadfile"]
DATABASE_TESTS = ["tests/office", "tests/jobs", "tests/billing", "tests/deliverables"]


def main() -> int:
    missing: list[str] = []
    with ExitStack() as servers:
        folder = Path(servers.enter_context(tempfile.TemporaryDirectory(prefix="stairhead-servers-")))
        os.environ.setdefault("XDG_RUNTIME_DIR", str(folder))
        database = _started(servers, postgres, folder / "postgres", "PostgreSQL", missing)
        broker = _started(servers, valkey, folder / "valkey", "a Redis-protocol server", missing)
        browser = _browser(missing)
        found = {"TEST_POSTGRES": database, "TEST_REDIS": broker, "CHROMIUM": browser}
        environment = {name: value for name, value in found.items() if value}
        failed = _pytest(*WORKERS, *sys.argv[1:], **environment)
        if database and not sys.argv[1:]:
            print("Again on PostgreSQL:", flush=True)
            again = _pytest(*WORKERS, *DATABASE_TESTS, "-m", "needs_database", **environment, DATABASE_URL=database)
            failed = failed or again
    for line in missing:
        print(f"NOT RUN: {line}")
    return failed or int(IN_CI and bool(missing))


def _pytest(*arguments: str, **environment: str) -> int:
    command = [sys.executable, "-m", "pytest", *arguments]
    return subprocess.run(command, cwd=ROOT, env={**os.environ, **environment}, check=False).returncode  # noqa: S603


def _started(
    servers: ExitStack,
    server: Callable[[Path], AbstractContextManager[str]],
    folder: Path,
    name: str,
    missing: list[str],
) -> str | None:
    try:
        return servers.enter_context(server(folder))
    except Exception as error:
        missing.append(f"what needs {name}: {type(error).__name__}: {error} (see requirements-test.in)")
        return None


def _browser(missing: list[str]) -> str | None:
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if not found:
        missing.append("what needs a browser: no Chromium (apt install chromium, or set CHROMIUM=/path/to/it)")
    return found


if __name__ == "__main__":
    raise SystemExit(main())
