"""Editing tasks: what is to be done to the capture before it may be shown or drafted."""

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from jobs.models import EditingTask, Severity, Shoot, TaskState
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked, move

from .walks import judge

KEEP_OUT = "keep-out"
ONE_PIECE = "one-piece"


@transaction.atomic
def make_editing_tasks(*, shoot: Shoot, now: datetime) -> int:
    """The package's own tasks, and those the walk calls for; again after a change of the walk, without doubles."""
    wanted = [*_tasks_of_package(shoot), *_tasks_of_walk(shoot)]
    for task in wanted:
        EditingTask.objects.update_or_create(
            shoot=shoot, code=task.code,
            defaults={"text": task.text, "severity": task.severity, "stations": task.stations},
        )  # fmt: skip
    return len(wanted)


def _tasks_of_package(shoot: Shoot) -> list[EditingTask]:
    return [
        EditingTask(code=task.code, text=task.text, severity=task.severity)
        for task in shoot.package.tasks.order_by("order", "pk")
    ]


def _tasks_of_walk(shoot: Shoot) -> list[EditingTask]:
    verdict = judge(shoot)
    tasks = []
    if shoot.package.has_tour and verdict.keep_out:
        numbers = list(verdict.keep_out)
        text = ngettext(
            "Keep station %(numbers)s out of the public tour", "Keep stations %(numbers)s out of the public tour",
            len(numbers),
        ) % {"numbers": _spoken(numbers)}  # fmt: skip
        tasks.append(EditingTask(code=KEEP_OUT, text=text, severity=Severity.MUST, stations=numbers))
        text = _("Check that the tour is still in one piece after hiding them")
        tasks.append(EditingTask(code=ONE_PIECE, text=text, severity=Severity.MUST))
    return tasks + _tasks_of_levels(shoot)


def _tasks_of_levels(shoot: Shoot) -> list[EditingTask]:
    return [
        EditingTask(
            code=f"level-{level.number}",
            text=_("Name level %(number)d “%(name)s”") % {"number": level.number, "name": level.name},
            severity=Severity.SHOULD,
        )
        for level in shoot.property.levels.all()
    ]


def _spoken(numbers: list[int]) -> str:
    """17, 18 and 22."""
    *rest, last = [str(number) for number in numbers]
    return _("%(first)s and %(last)s") % {"first": ", ".join(rest), "last": last} if rest else last


@transaction.atomic
def finish_task(*, task: EditingTask, note: str, by: Actor, now: datetime) -> EditingTask:
    """Done, by whom and when, with a note."""
    task = move(locked(task), TaskState.DONE, done_at=now, done_by=by.person, note=note)
    record(by=by, now=now, verb="task-done", text=_("did: %s") % task, subject=task, job=task.shoot.number)
    return task


@transaction.atomic
def reopen_task(*, task: EditingTask, by: Actor, now: datetime) -> EditingTask:
    """It turned out not to be done."""
    task = move(locked(task), TaskState.OPEN, done_at=None, done_by=None)
    record(by=by, now=now, verb="task-reopened", text=_("opened again: %s") % task, subject=task, job=task.shoot.number)
    return task
