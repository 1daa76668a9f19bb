"""The field pages: one shell that a phone keeps, and the data behind it as JSON.

The shell holds no data of anybody, so it can lie in the phone's cache. The data pages answer a sender who is not
signed in with 401 and where to sign in, never with the sign-in page itself: the phone keeps its queue and says so.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import FileResponse, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from jobs.actions.field_state import current_shape_key, field_log, field_state, visits_of
from jobs.actions.field_sync import sync_walk
from jobs.actions.photos import add_photo
from jobs.actions.shoots import note_captured
from jobs.forms.field import PhotoForm
from jobs.models import PhotoNote, Shoot, ShootState
from jobs.rules.field_ops import SENT, parse_ops
from jobs.views.field_assets import asset_version, assets, shell_html
from office.errors import Refused
from office.rules.reading import BadInput
from office.views.acting import actor

View = Callable[..., HttpResponse]


def for_staff(view: View) -> View:
    """Data for those who are signed in; everybody else is told where to do that, a script as JSON."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.user.is_authenticated:
            return view(request, *args, **kwargs)
        if request.accepts("text/html"):
            return redirect_to_login(request.get_full_path())
        return JsonResponse({"sign_in": reverse(settings.LOGIN_URL)}, status=401)

    return answer


@cache_control(no_cache=True)
@require_GET
def field(request: HttpRequest, number: str = "") -> HttpResponse:
    """The page itself; which visit it shows, its script reads from the address."""
    return HttpResponse(shell_html())


@cache_control(no_cache=True)
@require_GET
def shell(request: HttpRequest) -> HttpResponse:
    """What the phone keeps and opens for every visit."""
    return HttpResponse(shell_html())


@never_cache
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker; its text changes with any of the files it keeps, so that phones fetch the new ones."""
    context = {
        "version": asset_version(), "assets": assets(), "shell": reverse("jobs:field-shell"),
        "scope": reverse("jobs:field-home"),
    }  # fmt: skip
    return render(request, "jobs/field_worker.js", context, content_type="text/javascript; charset=utf-8")


@require_GET
def manifest(request: HttpRequest) -> HttpResponse:
    """What makes the field pages installable."""
    return render(request, "jobs/field_manifest.json", content_type="application/manifest+json")


@never_cache
@require_GET
@for_staff
@ensure_csrf_cookie
def visits(request: HttpRequest) -> JsonResponse:
    """The visits of the person who asks."""
    found = visits_of(request.user, timezone.now())
    return JsonResponse({"person": {"id": request.user.pk, "name": str(request.user)}, "visits": found})


@never_cache
@require_GET
@for_staff
@ensure_csrf_cookie
def state(request: HttpRequest, number: str) -> JsonResponse:
    """Everything a phone needs to log this walk alone."""
    return JsonResponse(field_state(_shoot(number), request.user))


@never_cache
@require_POST
@for_staff
def sync(request: HttpRequest, number: str) -> JsonResponse:
    """Take in what the phone did; what it sent before counts once."""
    shoot = _shoot(number)
    try:
        ops = parse_ops(request.body.decode())
        taken = sync_walk(shoot=shoot, ops=ops, by=actor(request), now=timezone.now())
    except (BadInput, UnicodeDecodeError) as error:
        return JsonResponse({"why": str(error) if isinstance(error, BadInput) else SENT}, status=400)
    except Refused as refusal:
        return JsonResponse({"why": refusal.message, "log": field_log(_shoot(number))}, status=409)
    return JsonResponse(
        {"taken": [one.answer for one in taken], "log": field_log(shoot), "shape_key": current_shape_key(shoot)}
    )


@never_cache
@require_POST
@for_staff
def photo(request: HttpRequest, number: str) -> JsonResponse:
    shoot = _shoot(number)
    form = PhotoForm(request.POST, request.FILES)
    if not form.is_valid():
        return JsonResponse(
            {"why": "; ".join(f"{name}: {errors[0]}" for name, errors in form.errors.items())}, status=400
        )
    try:
        kept = add_photo(shoot=shoot, **form.cleaned_data, by=actor(request), now=timezone.now())
    except Refused as refusal:
        return JsonResponse({"why": refusal.message}, status=400)
    return JsonResponse({"uuid": str(kept.uuid)})


@never_cache
@require_POST
@for_staff
def captured(request: HttpRequest, number: str) -> JsonResponse:
    """The crew says that the house is captured; saying it twice is saying it once."""
    shoot = _shoot(number)
    try:
        if shoot.state != ShootState.CAPTURED:
            note_captured(shoot=shoot, by=actor(request), now=timezone.now())
    except Refused as refusal:
        return JsonResponse({"why": refusal.message}, status=409)
    return JsonResponse({"log": field_log(_shoot(number)), "say": _("Captured; the editing tasks are set.")})


@require_GET
def picture(request: HttpRequest, number: str, uuid: str) -> HttpResponse:
    """A photo note's picture."""
    found = get_object_or_404(PhotoNote, uuid=uuid, shoot__number=number)
    headers = {"Cache-Control": "private, max-age=3600", "X-Content-Type-Options": "nosniff"}
    return FileResponse(found.picture.open("rb"), content_type="image/jpeg", headers=headers)


def _first_error(form: PhotoForm) -> str:
    return next(f"{name}: {errors[0]}" for name, errors in form.errors.items())


def _shoot(number: str) -> Shoot:
    return get_object_or_404(Shoot.objects.with_people(), number=number)
