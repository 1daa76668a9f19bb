"""A person's own calendar feed, behind a secret address."""

from datetime import datetime, timedelta

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _

from jobs.models import Shoot
from jobs.paper.ics import calendar_of
from office.actions.actors import Actor
from office.actions.links import make_link, token_of
from office.models import CapabilityLink, Person, Purpose

from .calendar_visits import calendar_visit

LASTS_DAYS = 5 * 365
LOOKS_BACK = timedelta(days=60)


def feed_address(person: Person, now: datetime) -> str:
    """Where the person's calendar program fetches the visits, or "" before they asked for it."""
    link = CapabilityLink.objects.open(now).to(Purpose.CALENDAR, person.pk).first()
    return settings.OUTSIDE_ADDRESS + reverse("jobs:feed", args=[token_of(link.key)]) if link else ""


def make_feed(*, by: Actor, now: datetime) -> CapabilityLink:
    """Give the acting person a feed; an older one ends."""
    person = by.person
    CapabilityLink.objects.open(now).to(Purpose.CALENDAR, person.pk).update(revoked_at=now)
    return make_link(
        purpose=Purpose.CALENDAR, subject_id=person.pk, holder_name=person.name, holder_email=person.email,
        by=by, now=now, days=LASTS_DAYS,
    )  # fmt: skip


def feed_of(person: Person, now: datetime) -> bytes:
    """The person's visits of the last two months and all to come."""
    shoots = Shoot.objects.with_people().filter(crew=person, starts_at__gte=now - LOOKS_BACK).order_by("starts_at")
    return calendar_of([calendar_visit(shoot, now) for shoot in shoots], _("Visits of %s") % person)
