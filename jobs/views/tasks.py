"""Editing tasks: ticked off with a note, opened again, withdrawn, or added to one job."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from jobs.actions.tasks import add_task, finish_task, reopen_task, withdraw_task
from jobs.forms.tasks import OwnTaskForm, TaskNoteForm, TaskWithdrawForm
from jobs.models import EditingTask, Shoot
from office.views.acting import act, attempt, say


@require_POST
def task_finish(request: HttpRequest, pk: int) -> HttpResponse:
    """Done, with a note if there is one; a note that is too long is cut rather than keeping the tick back."""
    task = _task(pk)
    form = TaskNoteForm(request.POST)
    note = form.cleaned_data["note"] if form.is_valid() else request.POST.get("note", "")[:200]
    act(request, finish_task, task=task, note=note)
    return _back(task)


@require_POST
def task_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    task = _task(pk)
    act(request, reopen_task, task=task)
    return _back(task)


def task_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """It need not be done on this job."""
    task = _task(pk)
    form = TaskWithdrawForm(request.POST or None)
    if form.is_valid() and attempt(request, form, withdraw_task, task=task, **form.cleaned_data):
        say(request, _("Withdrawn."))
        return _back(task)
    context = {"form": form, "shoot": task.shoot, "title": gettext_lazy("Withdraw a task"), "task": task}
    return render(request, "jobs/task_form.html", context)


def task_add(request: HttpRequest, number: str) -> HttpResponse:
    shoot = get_object_or_404(Shoot.objects.select_related("property"), number=number)
    form = OwnTaskForm(request.POST or None)
    if form.is_valid() and (task := attempt(request, form, add_task, shoot=shoot, fields=form.cleaned_data)):
        return _back(task)
    return render(request, "jobs/task_form.html", {"form": form, "shoot": shoot, "title": gettext_lazy("Add a task")})


def _task(pk: int) -> EditingTask:
    return get_object_or_404(EditingTask.objects.select_related("shoot__property"), pk=pk)


def _back(task: EditingTask) -> HttpResponse:
    return redirect(task.shoot.get_absolute_url() + "#walk")
