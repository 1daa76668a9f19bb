"""A shoot as calendars show it: in a person's feed, and as an invitation by mail to each of the crew."""

from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.utils.translation import gettext as _

from jobs.models import Shoot, ShootState
from jobs.paper.ics import Attendee, CalendarVisit, Method, invitation_of
from office.actions.notices import Attachment, withdraw_notices, write_notice
from office.models import Office, Person


def calendar_visit(shoot: Shoot, now: datetime) -> CalendarVisit:
    """Never with an entry code."""
    return CalendarVisit(
        uid=str(shoot.calendar_uid),
        sequence=shoot.calendar_sequence,
        state=shoot.state,
        start=shoot.starts_at,
        end=shoot.ends_at,
        summary=f"{shoot.property.street} · {shoot.package}",
        location=", ".join(shoot.property.address_lines),
        description=_("%(number)s for %(client)s") % {"number": shoot.number, "client": shoot.client.name},
        changed_at=now,
    )


def invite_crew(*, shoot: Shoot, now: datetime) -> None:
    """Ask each of the crew, or tell them of the change; an invitation still unsent is left out."""
    for person in shoot.crew.all():
        _send(shoot, person, Method.REQUEST, "visit_invitation", now)


def uninvite(*, shoot: Shoot, people: Iterable[Person], now: datetime) -> None:
    """Take the visit out of these people's calendars."""
    for person in people:
        _send(shoot, person, Method.CANCEL, "visit_invitation_off", now)


def _send(shoot: Shoot, person: Person, method: Method, template: str, now: datetime) -> None:
    """UID and SEQUENCE are the shoot's; the organizer is the office (RFC 5546 §2.1.4)."""
    office = Office.the()
    organizer = Attendee(office.name, office.email or settings.DEFAULT_FROM_EMAIL)
    attendee = Attendee(str(person), person.email)
    key = f"invitation:{shoot.pk}:{person.pk}:"
    withdraw_notices(key_prefix=key)
    write_notice(
        key=f"{key}{shoot.calendar_sequence}:{method.lower()}",
        template=template,
        to_name=person.name,
        to_address=person.email,
        now=now,
        job=shoot.number,
        enclosures=[
            Attachment(
                "visit.ics",
                f"text/calendar; method={method}",
                invitation_of(calendar_visit(shoot, now), organizer, [attendee], method),
            )
        ],
        shoot=shoot,
        tentative=shoot.state == ShootState.PENCILLED,
    )
