"""Web server, worker and scheduler together, for one machine: `manage.py serve`."""

import ctypes
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

PR_SET_PDEATHSIG = 1
QUEUES = "notices,plans,bundles"
RESTART_AFTER_SECONDS = 2


class Command(BaseCommand):
    help = "Serve pages and do the background work until stopped. One command, no other server needed."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--address", default="127.0.0.1:8000", help="where to listen (default: %(default)s)")

    def handle(self, *args, **options) -> None:
        serve(options["address"], self.stdout.write)


def serve(address: str, say: Callable[[str], object]) -> None:
    """Run the three children and start again any that stops, until a signal ends them all."""
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    children = {name: _start(command) for name, command in _commands(address).items()}
    say(f"Stairhead is at http://{address}/ (Ctrl-C stops it)")
    while not stop.wait(0.2):
        for name, child in children.items():
            if child.poll() is not None:
                say(f"{name} stopped with status {child.returncode}; starting it again")
                time.sleep(RESTART_AFTER_SECONDS)
                children[name] = _start(_commands(address)[name])
    for child in children.values():
        child.terminate()
    for child in children.values():
        child.wait(timeout=20)


def _commands(address: str) -> dict[str, list[str]]:
    celery = [sys.executable, "-m", "celery", "-A", "config"]
    gunicorn = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", address, "--workers", "1", "--threads", "8"]
    return {
        "web": [*gunicorn, "--log-level", "warning"],
        "worker": [*celery, "worker", "--pool", "threads", "--queues", QUEUES, "--loglevel", "warning"],
        "scheduler": [*celery, "beat", "--schedule", str(settings.BEAT_FILE), "--pidfile=", "--loglevel", "warning"],
    }


def _start(command: list[str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(command, preexec_fn=_die_with_parent)  # noqa: S603


def _die_with_parent() -> None:
    """A child must never outlive us: a scheduler without its parent would go on scheduling (prctl(2))."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
