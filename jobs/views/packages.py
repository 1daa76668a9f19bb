"""Settings of the first floor: packages with their editing tasks, and the figures for walks."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.packages import (
    add_package,
    add_package_task,
    change_package,
    change_package_task,
    change_walk_settings,
    remove_package_task,
)
from jobs.forms.packages import NewPackageForm, PackageForm, PackageTaskForm, WalkSettingsForm
from jobs.models import Package, PackageTask, WalkSettings
from office.views.acting import act, attempt, say


def packages(request: HttpRequest) -> HttpResponse:
    return render(request, "jobs/packages.html", {"packages": Package.objects.with_task_counts()})


def package_new(request: HttpRequest) -> HttpResponse:
    form = NewPackageForm(request.POST or None)
    if form.is_valid() and (made := attempt(request, form, add_package, fields=form.cleaned_data)):
        say(request, _("Added. Its tasks come next."))
        return redirect("jobs:package", made.pk)
    return render(request, "jobs/package_new.html", {"form": form})


def package(request: HttpRequest, pk: int) -> HttpResponse:
    """One package and what is to be done to a capture of it."""
    form = PackageForm(request.POST or None, instance=get_object_or_404(Package, pk=pk))
    found = Package.objects.get(pk=pk)
    if form.is_valid() and attempt(request, form, change_package, package=found, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:package", pk)
    return _page(request, found, form, PackageTaskForm())


@require_POST
def package_task_add(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(Package, pk=pk)
    form = PackageTaskForm(request.POST)
    if form.is_valid() and attempt(request, form, add_package_task, package=found, fields=form.cleaned_data):
        return redirect("jobs:package", pk)
    return _page(request, found, PackageForm(instance=found), form)


def package_task(request: HttpRequest, pk: int) -> HttpResponse:
    form = PackageTaskForm(request.POST or None, instance=get_object_or_404(PackageTask, pk=pk))
    found = PackageTask.objects.select_related("package").get(pk=pk)
    if form.is_valid() and attempt(request, form, change_package_task, task=found, fields=form.cleaned_data):
        return redirect("jobs:package", found.package_id)
    return render(request, "jobs/package_task.html", {"form": form, "task": found})


@require_POST
def package_task_remove(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(PackageTask, pk=pk)
    act(request, remove_package_task, task=found)
    return redirect("jobs:package", found.package_id)


def walk_settings(request: HttpRequest) -> HttpResponse:
    """Distances that the walk check judges by, and when entry codes are shown and deleted."""
    form = WalkSettingsForm(request.POST or None, instance=WalkSettings.the())
    if form.is_valid() and attempt(request, form, change_walk_settings, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:walk-settings")
    return render(request, "jobs/walk_settings.html", {"form": form})


def _page(request: HttpRequest, found: Package, form: PackageForm, task_form: PackageTaskForm) -> HttpResponse:
    context = {"package": found, "form": form, "task_form": task_form, "tasks": found.tasks.all()}
    return render(request, "jobs/package.html", context)
