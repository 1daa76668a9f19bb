"""What views share: who acts, and one action per form, once."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib import messages
from django.forms import BaseForm
from django.http import HttpRequest
from django.utils import timezone

from office.actions.actors import Actor
from office.actions.once import once
from office.errors import AlreadyDone, Refused
from office.models import CapabilityLink

T = TypeVar("T")


def actor(request: HttpRequest) -> Actor:
    """The signed-in person as an actor."""
    return Actor.of_person(request.user)


def act(request: HttpRequest, action: Callable[..., T], *, holder: CapabilityLink | None = None, **what: Any) -> T:
    """Run `action` for this sender at this moment, unless this form was taken before. Lets `Refused` rise."""
    by = Actor.of_link(holder) if holder else actor(request)
    with once(request):
        return action(**what, by=by, now=timezone.now())


def attempt(
    request: HttpRequest, form: BaseForm, action: Callable[..., T], *, holder: CapabilityLink | None = None, **what: Any
) -> T | None:
    """`act` for a form with fields: a refusal is shown beside its field and nothing typed is lost.

    `None` means: show the form again.
    """
    try:
        return act(request, action, holder=holder, **what)
    except AlreadyDone:
        raise
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)
        return None


def say(request: HttpRequest, text: str) -> None:
    """One line to the person who acted."""
    messages.success(request, text)
