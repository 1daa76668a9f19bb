"""The demo: an invented office on an empty database, one job through it, then the pages."""

import shutil

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections
from django.utils import timezone

from office.management.commands.serve import serve

MARK = "invented-office"


class Command(BaseCommand):
    help = "Make an invented office in an empty data folder, take one job through it, and serve the pages."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="end after the job")
        parser.add_argument("--address", default="127.0.0.1:8000", help="where to serve (default: %(default)s)")

    def handle(self, *args, **options) -> None:
        self._begin_anew()
        call_command("migrate", verbosity=0)
        from deliverables.demo import cast, others, story

        now = timezone.now()
        company = cast.invent(now=story.beginning(now))
        story.Story(company, now, self.stdout.write).tell()
        others.add_other_jobs(company, now)
        self.stdout.write(f"\nEverything is kept in {settings.DATA_DIR}; mails are in {settings.EMAIL_FILE_PATH}.")
        self.stdout.write(f"Sign in as {company.owner.email} or {company.scanner.email}, password {cast.PASSWORD}")
        if not options["no_serve"]:
            serve(options["address"], self.stdout.write)

    def _begin_anew(self) -> None:
        """Only a folder that the demo itself has made may be emptied."""
        folder = settings.DATA_DIR
        if (folder / MARK).exists():
            connections.close_all()
            for path in folder.iterdir():
                if path.is_dir():
                    shutil.rmtree(path)
                elif path.name not in {"secret-key", "link-secret"}:
                    path.unlink()
        elif (folder / "stairhead.sqlite3").exists():
            raise CommandError(f"{folder} holds an office that the demo did not make; set STAIRHEAD_DATA to another.")
        (folder / MARK).touch()
