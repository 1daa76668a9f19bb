"""Real processes: web server, worker and scheduler as one command, with the file broker and with Redis."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
WRITE_NOTICE = """
from django.utils import timezone
from office.actions.notices import write_notice
write_notice(key="hello:{key}", template="person_invited", to_name="Odile", to_address="odile@example.org",
             now=timezone.now(), choose_password="https://desk.example/choose-{key}")
"""
PATIENCE_SECONDS = 40


def run(environment, *arguments):
    command = [sys.executable, "manage.py", *arguments]
    subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True, timeout=120)


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_until(true, what):
    end = time.monotonic() + PATIENCE_SECONDS
    while time.monotonic() < end:
        if true():
            return
        time.sleep(0.1)
    pytest.fail(f"not within {PATIENCE_SECONDS} s: {what}")


def mails(folder):
    return [path.read_text() for path in (folder / "mail").glob("*")] if (folder / "mail").exists() else []


def children_of(pid):
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def alive(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().split()[2] != "Z"
    except FileNotFoundError:
        return False


@pytest.fixture(params=["file broker", "redis"])
def office_at_work(request, tmp_path):
    """`manage.py serve` on a folder of its own; gives the process, its address and the environment."""
    environment = {**os.environ, "STAIRHEAD_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "config.settings.laptop"}
    environment.pop("DATABASE_URL", None)
    if request.param == "redis":
        environment["REDIS_URL"] = request.getfixturevalue("redis_address")
    run(environment, "migrate", "--verbosity", "0")
    address = f"127.0.0.1:{free_port()}"
    process = subprocess.Popen([sys.executable, "manage.py", "serve", "--address", address], cwd=ROOT, env=environment)
    yield process, address, environment, tmp_path
    process.terminate()
    process.wait(timeout=30)


def answers(address):
    try:
        with urllib.request.urlopen(f"http://{address}/healthz", timeout=2) as answer:
            return answer.status == 200
    except OSError:
        return False


def test_one_command_serves_pages_sends_notices_and_leaves_nothing_behind(office_at_work):
    process, address, environment, folder = office_at_work
    wait_until(lambda: answers(address), "the web server answers")
    run(environment, "shell", "-c", WRITE_NOTICE.format(key="first"))
    wait_until(lambda: any("choose-first" in mail for mail in mails(folder)), "the worker sent the notice")

    for child in children_of(process.pid):
        if b"worker" in Path(f"/proc/{child}/cmdline").read_bytes():
            os.kill(child, signal.SIGKILL)
    run(environment, "shell", "-c", WRITE_NOTICE.format(key="second"))
    wait_until(lambda: any("choose-second" in mail for mail in mails(folder)), "a new worker sent the notice")
    assert sum("choose-first" in mail for mail in mails(folder)) == 1

    children = children_of(process.pid)
    assert len(children) == 3
    process.send_signal(signal.SIGKILL)
    process.wait()
    wait_until(lambda: not any(alive(child) for child in children), "the children died with their parent")
