"""Editing tasks: what is to be done to the capture before it may be shown or drafted."""

from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from jobs.models import EditingTask, PackageTask, Severity, Shoot, TaskState
from jobs.rules.walkcheck import WalkVerdict
from office.actions.actors import PROGRAM, Actor
from office.actions.events import record
from office.actions.states import locked, move
from office.models import Office
from office.rules.calendar import calendar_of
from office.rules.reading import BadInput
from office.rules.worktime import NeverDue, due

from .verdicts import judge

KEEP_OUT = "keep-out"
ONE_PIECE = "one-piece"
LEFT_OVER = "walk-check"
OF_THE_WALK = (KEEP_OUT, ONE_PIECE, LEFT_OVER)


@transaction.atomic
def make_editing_tasks(*, shoot: Shoot, now: datetime) -> int:
    """The package's own tasks, and those the walk calls for; again after a change of the walk, without doubles."""
    promise = promised(shoot, Decimal(shoot.package.promise_hours))
    wanted = [*_tasks_of_package(shoot, promise), *_tasks_of_levels(shoot, promise)]
    for task in wanted:
        _set(shoot, task)
    return len(wanted) + renew_walk_tasks(shoot=shoot, verdict=judge(shoot), now=now)


@transaction.atomic
def renew_walk_tasks(*, shoot: Shoot, verdict: WalkVerdict, now: datetime) -> int:
    """The tasks that stand on the walk, as it is now: one that was done for other stations is open again."""
    promise = promised(shoot, Decimal(shoot.package.promise_hours))
    wanted = list(_tasks_of_walk(shoot, verdict, promise))
    stale = shoot.tasks.filter(code__in=OF_THE_WALK).exclude(code__in=[task.code for task in wanted])
    stale.filter(state=TaskState.OPEN).update(state=TaskState.WITHDRAWN, stations=[])
    for task in wanted:
        before = shoot.tasks.filter(code=task.code).first()
        _set(shoot, task)
        if before and before.state != TaskState.OPEN and before.stations != task.stations:
            _open_again(shoot.tasks.get(code=task.code), now)
    return len(wanted)


def promised(shoot: Shoot, hours: Decimal) -> datetime | None:
    """When so many of the office's working hours have passed since the capture; None while nothing is captured."""
    if shoot.captured_at is None:
        return None
    office = Office.the()
    try:
        calendar = calendar_of(office.zone, office.hours, office.holidays, source=str(office))
        return due(calendar, shoot.captured_at, hours).astimezone(UTC)
    except (NeverDue, BadInput):
        return None


def _set(shoot: Shoot, task: EditingTask) -> None:
    defaults = {"text": task.text, "severity": task.severity, "stations": task.stations, "due_at": task.due_at}
    EditingTask.objects.update_or_create(shoot=shoot, code=task.code, defaults=defaults)


def _open_again(task: EditingTask, now: datetime) -> None:
    move(task, TaskState.OPEN, done_at=None, done_by=None)
    text = _("opened again, as the walk has changed: %s") % task
    record(by=PROGRAM, now=now, verb="task-reopened", text=text, subject=task, job=task.shoot.number)


def _tasks_of_package(shoot: Shoot, promise: datetime | None) -> Iterator[EditingTask]:
    for task in shoot.package.tasks.order_by("order", "pk"):
        yield EditingTask(code=task.code, text=task.text, severity=task.severity, due_at=_due(shoot, task, promise))


def _due(shoot: Shoot, task: PackageTask, promise: datetime | None) -> datetime | None:
    return promise if task.due_hours is None else promised(shoot, Decimal(task.due_hours))


def _tasks_of_walk(shoot: Shoot, verdict: WalkVerdict, promise: datetime | None) -> Iterator[EditingTask]:
    if shoot.package.has_tour and verdict.keep_out:
        yield from _tasks_of_hiding(verdict, promise)
    left = [finding for finding in verdict.findings if finding.severity == Severity.MUST]
    if left:
        text = ngettext(
            "The crew left with %(n)d thing the walk check calls a must: settle what comes of it",
            "The crew left with %(n)d things the walk check calls a must: settle what comes of them",
            len(left),
        ) % {"n": len(left)}  # fmt: skip
        numbers = sorted({finding.station for finding in left if finding.station})
        yield EditingTask(code=LEFT_OVER, text=text, severity=Severity.SHOULD, stations=numbers, due_at=promise)


def _tasks_of_hiding(verdict: WalkVerdict, promise: datetime | None) -> Iterator[EditingTask]:
    numbers = list(verdict.keep_out)
    text = ngettext(
        "Keep station %(numbers)s out of the public tour", "Keep stations %(numbers)s out of the public tour",
        len(numbers),
    ) % {"numbers": _spoken(numbers)}  # fmt: skip
    must = {"severity": Severity.MUST, "stations": numbers, "due_at": promise}
    yield EditingTask(code=KEEP_OUT, text=text, **must)
    yield EditingTask(code=ONE_PIECE, text=_("Check that the tour is still in one piece after hiding them"), **must)


def _tasks_of_levels(shoot: Shoot, promise: datetime | None) -> Iterator[EditingTask]:
    for level in shoot.property.levels.all():
        text = _("Name level %(number)d “%(name)s”") % {"number": level.number, "name": level.name}
        yield EditingTask(code=f"level-{level.number}", text=text, severity=Severity.SHOULD, due_at=promise)


def _spoken(numbers: list[int]) -> str:
    """17, 18 and 22."""
    *rest, last = [str(number) for number in numbers]
    return _("%(first)s and %(last)s") % {"first": ", ".join(rest), "last": last} if rest else last


@transaction.atomic
def add_task(*, shoot: Shoot, fields: dict[str, object], by: Actor, now: datetime) -> EditingTask:
    """One more thing to do on this job alone."""
    shoot = locked(shoot)
    code = f"own-{shoot.tasks.filter(code__startswith='own-').count() + 1}"
    task = EditingTask.objects.create(shoot=shoot, code=code, **fields)
    record(by=by, now=now, verb="task-added", text=_("added the task: %s") % task, subject=task, job=shoot.number)
    return task


@transaction.atomic
def finish_task(*, task: EditingTask, note: str, by: Actor, now: datetime) -> EditingTask:
    """Done, by whom and when, with a note."""
    task = move(locked(task), TaskState.DONE, done_at=now, done_by=by.person, note=note)
    record(by=by, now=now, verb="task-done", text=_("did: %s") % task, subject=task, job=task.shoot.number)
    return task


@transaction.atomic
def reopen_task(*, task: EditingTask, by: Actor, now: datetime) -> EditingTask:
    """It turned out not to be done, or to be needed after all."""
    task = move(locked(task), TaskState.OPEN, done_at=None, done_by=None)
    record(by=by, now=now, verb="task-reopened", text=_("opened again: %s") % task, subject=task, job=task.shoot.number)
    return task


@transaction.atomic
def withdraw_task(*, task: EditingTask, why: str, by: Actor, now: datetime) -> EditingTask:
    """It need not be done on this job; the owner says why."""
    task = move(locked(task), TaskState.WITHDRAWN, note=why)
    text = _("withdrew the task “%(task)s”: %(why)s") % {"task": task, "why": why}
    record(by=by, now=now, verb="task-withdrawn", text=text, subject=task, job=task.shoot.number)
    return task
