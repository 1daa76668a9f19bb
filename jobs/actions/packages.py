"""Packages, the editing tasks that come with each, and what the office decides about walks."""

from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.text import slugify
from django.utils.translation import gettext as _

from jobs.models import Package, PackageTask, WalkSettings
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused

STEP = 10


@transaction.atomic
def add_package(*, fields: dict[str, Any], by: Actor, now: datetime) -> Package:
    """A new package; its code is what rate cards price, so it never changes."""
    try:
        with transaction.atomic():
            package = Package.objects.create(order=_next_order(Package.objects.all()), **fields)
    except IntegrityError:
        raise Refused(_("There is a package with this code already."), field="code") from None
    record(by=by, now=now, verb="package-added", text=_("added the package %s") % package, subject=package)
    return package


@transaction.atomic
def change_package(*, package: Package, fields: dict[str, Any], by: Actor, now: datetime) -> Package:
    package = locked(package)
    for name, value in fields.items():
        setattr(package, name, value)
    package.save(update_fields=list(fields))
    record(by=by, now=now, verb="package-changed", text=_("changed the package %s") % package, subject=package)
    return package


@transaction.atomic
def add_package_task(*, package: Package, fields: dict[str, Any], by: Actor, now: datetime) -> PackageTask:
    """Every shoot of the package that is captured from now on gets it."""
    package = locked(package)
    task = PackageTask.objects.create(
        package=package, code=_free_code(package, fields["text"]), order=_next_order(package.tasks.all()), **fields
    )
    text = _("added a task to %(package)s: %(task)s") % {"package": package, "task": task}
    record(by=by, now=now, verb="package-task-added", text=text, subject=package)
    return task


@transaction.atomic
def change_package_task(*, task: PackageTask, fields: dict[str, Any], by: Actor, now: datetime) -> PackageTask:
    """Jobs captured before keep the old words."""
    task = locked(task)
    for name, value in fields.items():
        setattr(task, name, value)
    task.save(update_fields=list(fields))
    text = _("changed a task of %(package)s: %(task)s") % {"package": task.package, "task": task}
    record(by=by, now=now, verb="package-task-changed", text=text, subject=task.package)
    return task


@transaction.atomic
def remove_package_task(*, task: PackageTask, by: Actor, now: datetime) -> None:
    """Jobs captured before keep it."""
    task = locked(task)
    text = _("removed a task from %(package)s: %(task)s") % {"package": task.package, "task": task}
    record(by=by, now=now, verb="package-task-removed", text=text, subject=task.package)
    task.delete()


@transaction.atomic
def change_walk_settings(*, fields: dict[str, Any], by: Actor, now: datetime) -> WalkSettings:
    """The office's own distances and times; the log names which."""
    settings = locked(WalkSettings.the())
    changed = [name for name, value in fields.items() if getattr(settings, name) != value]
    for name in changed:
        setattr(settings, name, fields[name])
    if changed:
        settings.save(update_fields=changed)
        text = _("changed the walk settings: %s") % ", ".join(changed)
        record(by=by, now=now, verb="walk-settings-changed", text=text, subject=settings)
    return settings


def _free_code(package: Package, text: str) -> str:
    """From its words, with a number where the words come twice."""
    taken = set(package.tasks.values_list("code", flat=True))
    stem = f"task-{slugify(text)[:28]}".strip("-")
    code, number = stem, 2
    while code in taken:
        code, number = f"{stem}-{number}", number + 1
    return code


def _next_order(rows: Any) -> int:
    last = rows.order_by("-order").values_list("order", flat=True).first()
    return (last or 0) + STEP
