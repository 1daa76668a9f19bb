"""Around a visit: on the way, in and out, the kit, the weather, a closed door, calling it off."""

from collections.abc import Callable
from datetime import date
from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from jobs.actions.check_ins import check_in, check_out, stay_longer
from jobs.actions.fees import cancelling_costs, fee_rule, plain, waive_fee
from jobs.actions.kit import kit_of, tick_kit
from jobs.actions.messages import say_on_our_way
from jobs.actions.pictures import harmless_picture
from jobs.actions.shoots import cancel_shoot, note_no_access
from jobs.actions.weather import go_ahead, hold_for_weather
from jobs.forms.diary import CancelForm, NoAccessForm, StayForm, WeatherForm
from jobs.models import NoAccessNote, Shoot, Stage
from jobs.rules.late_fee import Wish
from office.errors import Refused
from office.models import Person
from office.views.acting import act, attempt, say


def shoot_cancel(request: HttpRequest, number: str) -> HttpResponse:
    """Call it off, with the reason, at whose wish, and what that costs by the office's rule."""
    shoot = _shoot(number)
    form = CancelForm(request.POST or None)
    if form.is_valid() and attempt(request, form, cancel_shoot, shoot=shoot, **form.cleaned_data):
        say(request, _("Called off."))
        return redirect(shoot)
    percent = cancelling_costs(shoot, Wish.CLIENT, timezone.now())
    return render(request, "jobs/shoot_cancel.html", {"form": form, "shoot": shoot, "percent": plain(percent)})


def shoot_no_access(request: HttpRequest, number: str) -> HttpResponse:
    """What was tried before a closed door, with a photo."""
    shoot = _shoot(number)
    form = NoAccessForm(request.POST or None, request.FILES or None)
    if form.is_valid() and _note_no_access(request, form, shoot):
        say(request, _("Noted; the office sees it at once."))
        return redirect(shoot)
    context = {"form": form, "shoot": shoot, "percent": plain(fee_rule().no_access)}
    return render(request, "jobs/shoot_no_access.html", context)


def _note_no_access(request: HttpRequest, form: NoAccessForm, shoot: Shoot) -> Shoot | None:
    fields = form.cleaned_data
    try:
        photo = harmless_picture(fields["photo"], "photo") if fields["photo"] else None
    except Refused as refusal:
        form.add_error("photo", refusal.message)
        return None
    return attempt(request, form, note_no_access, shoot=shoot, **{**fields, "photo": photo})


@never_cache
def door_photo(request: HttpRequest, number: str) -> FileResponse:
    """The photo of a closed door; always a JPEG of our own making."""
    note = get_object_or_404(NoAccessNote, shoot__number=number)
    if not note.photo:
        raise Http404
    return FileResponse(note.photo.open("rb"), content_type="image/jpeg", filename=f"{number}.jpg")


def shoot_weather(request: HttpRequest, number: str) -> HttpResponse:
    """Keep the time and wait for the weather."""
    shoot = _shoot(number)
    form = WeatherForm(request.POST or None, initial=WeatherForm.of_shoot(shoot))
    if form.is_valid() and attempt(request, form, hold_for_weather, shoot=shoot, **form.cleaned_data):
        say(request, _("Held for the weather."))
        return redirect(shoot)
    return render(request, "jobs/shoot_weather.html", {"form": form, "shoot": shoot})


@require_POST
def shoot_goes_ahead(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, go_ahead, _("The visit stands as agreed."))


@require_POST
def shoot_fee_waive(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, waive_fee, _("Waived."))


@require_POST
def shoot_on_way(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, say_on_our_way, _("The client is told that you are on your way."))


@require_POST
def shoot_check_in(request: HttpRequest, number: str) -> HttpResponse:
    return _change(request, number, check_in, _("You are checked in. Check out when you leave."))


@require_POST
def shoot_check_out(request: HttpRequest, number: str) -> HttpResponse:
    """The acting person's own, or, for the owner, that of somebody they have spoken to."""
    shoot = _shoot(number)
    person = None
    if request.user.is_owner and request.POST.get("person", "").isdigit():
        person = get_object_or_404(Person, pk=request.POST["person"])
    act(request, check_out, shoot=shoot, person=person)
    left = [line.item for line in kit_of(shoot) if line.left_behind]
    say(request, _("Checked out."))
    if left and person is None:
        say(request, _("Is it all in the bag? Not ticked yet: %s.") % ", ".join(left))
    return _back(request, shoot)


@require_POST
def shoot_stay(request: HttpRequest, number: str) -> HttpResponse:
    shoot = _shoot(number)
    form = StayForm(request.POST)
    if not form.is_valid():
        raise Refused(_("Say how many minutes longer, from 1 to 480."))
    row = act(request, stay_longer, shoot=shoot, **form.cleaned_data)
    say(request, _("Expected out at %s.") % timezone.localtime(row.due_out_at).strftime("%H:%M"))
    return _back(request, shoot)


def shoot_kit(request: HttpRequest, number: str) -> HttpResponse:
    """The kit list, ticked leaving the office and again leaving the property."""
    shoot = _shoot(number)
    if request.method == "POST":
        stage = Stage(request.POST["stage"]) if request.POST.get("stage") in Stage.values else Stage.OFFICE
        missing = act(request, tick_kit, shoot=shoot, stage=stage, items=request.POST.getlist("items"))
        say(request, _missing_said(missing))
        return redirect("jobs:shoot-kit", number)
    return render(request, "jobs/shoot_kit.html", {"shoot": shoot, "kit": kit_of(shoot), "stages": Stage.choices})


def _missing_said(missing: int) -> str:
    if not missing:
        return _("All there.")
    return ngettext("%d thing is not ticked.", "%d things are not ticked.", missing) % missing


def _shoot(number: str) -> Shoot:
    return get_object_or_404(Shoot.objects.with_people(), number=number)


def _change(request: HttpRequest, number: str, action: Callable[..., Any], done: str) -> HttpResponse:
    shoot = _shoot(number)
    act(request, action, shoot=shoot)
    say(request, done)
    return _back(request, shoot)


def _back(request: HttpRequest, shoot: Shoot) -> HttpResponse:
    """To the list that the button stood in, or to the shoot."""
    try:
        day = date.fromisoformat(request.POST.get("day", ""))
    except ValueError:
        return redirect(shoot)
    return redirect("jobs:diary-day", day.isoformat())
