"""What the diary goes by: rules, hours, leave, timed drives, the lists of the packages; and a better order of a day."""

from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from jobs.actions.day_order import accept_order, day_order
from jobs.actions.diary_rules import change_rules, remove_drive, set_drive
from jobs.actions.estimates import held_so_far
from jobs.actions.kit import set_lists
from jobs.actions.leave import add_leave, remove_leave, set_hours
from jobs.forms.diary import DiaryRulesForm, DriveForm, HoursForm, LeaveForm, ListsForm
from jobs.models import CrewHours, DiaryRules, Leave, Package, TimedDrive
from office.models import Person
from office.paging import page_of
from office.views.acting import act, attempt, say


def diary_rules(request: HttpRequest) -> HttpResponse:
    form = DiaryRulesForm(request.POST or None, instance=DiaryRules.the())
    if form.is_valid() and attempt(request, form, change_rules, fields=form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:diary-rules")
    return render(request, "jobs/diary_rules.html", {"form": form, "coverage": held_so_far()})


def crew(request: HttpRequest) -> HttpResponse:
    """Everybody who goes out, with their hours and leave to come."""
    today = timezone.localdate()
    people = Person.objects.at_work().select_related("crew_hours")
    leave = Leave.objects.filter(last_day__gte=today).select_related("person")
    return render(request, "jobs/crew.html", {"people": people, "leave": leave})


def crew_hours(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Person, pk=pk)
    own = CrewHours.objects.filter(person=person).first()
    initial = {"own": own is not None, "hours": own.hours if own else request.office.hours}
    form = HoursForm(request.POST or None, initial=initial)
    if form.is_valid():
        act(request, set_hours, person=person, hours=form.chosen())
        say(request, _("Saved."))
        return redirect("jobs:crew")
    return render(request, "jobs/crew_hours.html", {"form": form, "person": person})


def leave_new(request: HttpRequest) -> HttpResponse:
    form = LeaveForm(request.POST or None, initial=request.GET.dict())
    if form.is_valid() and attempt(request, form, add_leave, **form.cleaned_data):
        say(request, _("Noted. Visits in that time, if any, are on the desk."))
        return redirect("jobs:crew")
    return render(request, "jobs/leave_new.html", {"form": form})


@require_POST
def leave_remove(request: HttpRequest, pk: int) -> HttpResponse:
    act(request, remove_leave, leave=get_object_or_404(Leave.objects.select_related("person"), pk=pk))
    say(request, _("Taken back."))
    return redirect("jobs:crew")


def drives(request: HttpRequest) -> HttpResponse:
    """Drives somebody has timed; they hold in place of the estimate."""
    form = DriveForm(request.POST or None)
    if form.is_valid() and attempt(request, form, set_drive, **form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:drives")
    page = page_of(request, TimedDrive.objects.select_related("start", "end").order_by("-pk"))
    return render(request, "jobs/drives.html", {"form": form, "page": page})


@require_POST
def drive_remove(request: HttpRequest, pk: int) -> HttpResponse:
    act(request, remove_drive, drive=get_object_or_404(TimedDrive.objects.select_related("start", "end"), pk=pk))
    say(request, _("Taken back; the estimate holds again."))
    return redirect("jobs:drives")


def lists(request: HttpRequest) -> HttpResponse:
    return render(request, "jobs/lists.html", {"packages": Package.objects.order_by("order", "code")})


def package_lists(request: HttpRequest, pk: int) -> HttpResponse:
    """A package's kit list and its lines on the preparation sheet."""
    package = get_object_or_404(Package, pk=pk)
    form = ListsForm(request.POST or None, instance=package)
    if form.is_valid() and attempt(request, form, set_lists, package=package, **form.cleaned_data):
        say(request, _("Saved."))
        return redirect("jobs:lists")
    return render(request, "jobs/package_lists.html", {"form": form, "package": Package.objects.get(pk=pk)})


def order(request: HttpRequest, day: str, pk: int) -> HttpResponse:
    """A better order of somebody's day; nothing moves before the owner accepts it."""
    person = get_object_or_404(Person, pk=pk)
    asked = request.POST if request.method == "POST" else request.GET
    wanted = {
        "person": person,
        "day": _day(day),
        "may_move": frozenset(int(key) for key in asked.getlist("may_move") if key.isdigit()),
    }
    if request.method == "POST":
        accepted = act(request, accept_order, **wanted, token=request.POST.get("token", ""))
        say(request, _("Moved; %d minutes less driving.") % accepted.saves)
        return redirect("jobs:diary-day", day)
    found = day_order(**wanted, now=timezone.now())
    return render(request, "jobs/day_order.html", {"order": found, "may_move": wanted["may_move"]})


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Http404 from None
