"""The short session a capability link is exchanged for, so that the token leaves the address bar at once."""

from datetime import datetime, timedelta

from django.http import HttpRequest
from django.utils import timezone

from office.models import CapabilityLink

LASTS = timedelta(hours=12)
KEY = "links"


def remember(request: HttpRequest, link: CapabilityLink, now: datetime) -> None:
    """Let this browser use the link for a while without its token."""
    kept = {pk: until for pk, until in request.session.get(KEY, {}).items() if until > now.timestamp()}
    request.session[KEY] = {**kept, str(link.pk): (now + LASTS).timestamp()}


def open_links(request: HttpRequest) -> list[CapabilityLink]:
    """The links this browser opened lately, as far as they are still open; revoking one counts at once."""
    now = timezone.now()
    kept = [int(pk) for pk, until in request.session.get(KEY, {}).items() if until > now.timestamp()]
    return list(CapabilityLink.objects.open(now).filter(pk__in=kept)) if kept else []
