"""Entry codes: the owner writes them, the crew looks at them around the visit."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_POST

from jobs.actions.entry_codes import remove_entry_code, show_entry_code, why_hidden, write_entry_code
from jobs.forms.entry_codes import EntryCodeForm
from jobs.models import EntryCode, Shoot
from office.views.acting import act, attempt, say


@never_cache
@require_GET
def entry_codes(request: HttpRequest, number: str) -> HttpResponse:
    """What codes there are, and when they are shown; never the codes themselves."""
    return _page(request, _shoot(number), EntryCodeForm())


@never_cache
@sensitive_post_parameters("code")
@require_POST
def entry_code_write(request: HttpRequest, number: str) -> HttpResponse:
    shoot = _shoot(number)
    form = EntryCodeForm(request.POST)
    if form.is_valid() and attempt(request, form, write_entry_code, shoot=shoot, **form.cleaned_data):
        say(request, _("Sealed. The crew sees it around the visit."))
        return redirect("jobs:entry-codes", number)
    return _page(request, shoot, form)


@never_cache
@require_POST
def entry_code_show(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """The one page that shows a code; a browser keeps no copy of it."""
    found = get_object_or_404(EntryCode, pk=pk, shoot__number=number)
    shown = act(request, show_entry_code, entry_code=found)
    return render(request, "jobs/entry_code.html", {"shoot": _shoot(number), "entry_code": found, "shown": shown})


@require_POST
def entry_code_remove(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    found = get_object_or_404(EntryCode, pk=pk, shoot__number=number)
    act(request, remove_entry_code, entry_code=found)
    say(request, _("Removed."))
    return redirect("jobs:entry-codes", number)


def _shoot(number: str) -> Shoot:
    return get_object_or_404(Shoot.objects.select_related("property"), number=number)


def _page(request: HttpRequest, shoot: Shoot, form: EntryCodeForm) -> HttpResponse:
    context = {
        "shoot": shoot,
        "codes": shoot.entry_codes.select_related("written_by"),
        "why_hidden": why_hidden(shoot, request.user, timezone.now()),
        "form": form,
    }
    return render(request, "jobs/entry_codes.html", context)
