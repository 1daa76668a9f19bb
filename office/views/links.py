"""Opening a capability link: the token is exchanged for a short session and leaves the address bar."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST
from django_ratelimit.decorators import ratelimit

from office.actions.links import find_link, note_use, passcode_fits, revoke_link
from office.forms.base import PlainForm
from office.link_session import remember
from office.models import CapabilityLink
from office.registry import registry
from office.views.acting import act, say


class PasscodeForm(PlainForm):
    passcode = forms.CharField(label=_("Passcode"), max_length=80, widget=forms.PasswordInput)


@never_cache
@require_http_methods(["GET", "POST"])
@ratelimit(key="ip", rate="60/m", block=True)
def open_link(request: HttpRequest, token: str) -> HttpResponse:
    """Exchange the token; ask for the passcode first where there is one."""
    now = timezone.now()
    link = find_link(token, now)
    if link is None or link.purpose not in registry.landings:
        return link_closed(request)
    if not link.passcode_hash:
        return _let_in(request, link)
    form = PasscodeForm(request.POST or None)
    if form.is_valid():
        if passcode_fits(link, form.cleaned_data["passcode"]):
            return _let_in(request, link)
        form.add_error("passcode", _("That is not the passcode of this link."))
    return render(request, "office/passcode.html", {"form": form}, status=200 if request.method == "GET" else 422)


def _let_in(request: HttpRequest, link: CapabilityLink) -> HttpResponse:
    now = timezone.now()
    note_use(link=link, what="opened", address=request.META.get("REMOTE_ADDR", ""), now=now)
    remember(request, link, now)
    return redirect(registry.landings[link.purpose], link.subject_id)


def link_closed(request: HttpRequest) -> HttpResponse:
    """A link that never was, has ended or was revoked: all look the same."""
    return render(request, "office/link_closed.html", status=404)


@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """End a link at once."""
    link = get_object_or_404(CapabilityLink, pk=pk)
    act(request, revoke_link, link=link)
    say(request, _("The link is closed."))
    return redirect("office:desk")
