"""Who is busy when, the drives included. Nobody is ever put in two places.

The crew's rows are locked before their time is read. Each person's visits of neighbouring dates are then reckoned
anew, so that each carries the drive that leads to it and the last one the drive home.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from jobs.guards import GUARD
from jobs.models import CrewMember, DiaryRules, Property, Shoot
from jobs.rules.busy import Clash, Held, busy_times, clash
from office.errors import Refused
from office.models import Office, Person
from office.rules.date_format import format_span

from .places import drives_of, home_spot, spot_of
from .slots import next_windows

AROUND = timedelta(days=2)
"""As far as a visit can change the drives of others, and a day more."""


def hold_crew(*, shoot: Shoot, crew: Sequence[Person], was_at: datetime | None, now: datetime) -> None:
    """Make `crew` the shoot's crew for its time, which is stored already; refused where one of them is busy.

    `was_at` is when the visit began before it was moved: the drives of that day change too.
    """
    former = list(Person.objects.filter(memberships__shoot=shoot).exclude(pk__in=[person.pk for person in crew]))
    lock_people([*crew, *former])
    for person in crew:
        found = clash_of(shoot, person)
        if found:
            raise Refused(_busy_then(person, found) + next_windows(shoot=shoot, crew=crew, now=now), field="crew")
    shoot.members.exclude(person__in=crew).delete()
    for person in crew:
        CrewMember.objects.get_or_create(shoot=shoot, person=person)
    for person in [*crew, *former]:
        _rechain(person, [at for at in (shoot.starts_at, was_at) if at])


def release_crew(*, shoot: Shoot) -> None:
    """The shoot no longer keeps its crew busy; who was to come stays on record."""
    crew = list(shoot.crew.all())
    lock_people(crew)
    shoot.members.update(busy_from=None, busy_until=None)
    for person in crew:
        _rechain(person, [shoot.starts_at] if shoot.starts_at else [])


def rechain_visits_at(*, property: Property, now: datetime) -> None:
    """Reckon the drives of all coming visits to a property anew: it, or the way to it, has changed."""
    coming = CrewMember.objects.filter(shoot__property=property, busy_until__gt=now).select_related("person", "shoot")
    members = list(coming)
    lock_people([member.person for member in members])
    for member in members:
        _rechain(member.person, [member.shoot.starts_at])


def clash_of(shoot: Shoot, person: Person) -> Clash | None:
    """What keeps a person from the shoot at the time it carries, whether or not that time is stored."""
    office, rules = Office.the(), DiaryRules.the()
    others = [
        member.shoot for member in _members(person, shoot.starts_at, shoot.ends_at) if member.shoot_id != shoot.pk
    ]
    return clash(held_of(shoot, office), [held_of(other, office) for other in others], drives_of(rules))


def held_of(shoot: Shoot, office: Office) -> Held:
    day = shoot.starts_at.astimezone(ZoneInfo(office.zone)).date()
    return Held(shoot.pk, spot_of(shoot.property), day, shoot.starts_at, shoot.ends_at)


def lock_people(people: Iterable[Person]) -> None:
    """Always in the order of the key, so that two bookings of one pair of people cannot wait for each other."""
    list(Person.objects.select_for_update().filter(pk__in={person.pk for person in people}).order_by("pk"))


def _members(person: Person, start: datetime, end: datetime) -> list[CrewMember]:
    """The person's standing visits within two days of the span, in the order of the clock."""
    return list(CrewMember.objects.standing(start - AROUND, end + AROUND).filter(person=person))


def _rechain(person: Person, moments: Sequence[datetime]) -> None:
    """Store the drives anew around each moment. The outermost visits read lack a neighbour, so they stay."""
    office, rules = Office.the(), DiaryRules.the()
    home, drives = home_spot(office), drives_of(rules)
    for moment in moments:
        members = {member.shoot_id: member for member in _members(person, moment, moment)}
        held = [held_of(member.shoot, office) for member in members.values()]
        near = [
            busy
            for busy in busy_times(held, home, drives)
            if abs((busy.held.day - moment.astimezone(ZoneInfo(office.zone)).date()).days) <= 1
        ]
        _store({members[busy.held.key]: (busy.busy_from, busy.busy_until) for busy in near})


def _store(times: dict[CrewMember, tuple[datetime, datetime]]) -> None:
    """Write what changed; first nobody is busy, so that no row meets the old time of its neighbour on the way.

    The database refuses what the lock could not see, such as a row written by hand.
    """
    changed = {member: time for member, time in times.items() if (member.busy_from, member.busy_until) != time}
    try:
        with transaction.atomic():
            CrewMember.objects.filter(pk__in=[m.pk for m in changed]).update(busy_from=None, busy_until=None)
            for member, (busy_from, busy_until) in changed.items():
                CrewMember.objects.filter(pk=member.pk).update(busy_from=busy_from, busy_until=busy_until)
    except IntegrityError as error:
        if GUARD not in str(error):
            raise
        person = next(iter(changed)).person
        raise Refused(_("%s has just been booked for that time.") % person, field="crew") from None


def _busy_then(person: Person, found: Clash) -> str:
    office = Office.the()
    shoot = Shoot.objects.get(pk=found.held.key)
    facts = {
        "person": person,
        "shoot": shoot.number,
        "when": format_span(found.held.starts_at, found.held.ends_at, office.zone, office.locale),
    }
    if found.short_by is None:
        return _("%(person)s is busy then: %(shoot)s, %(when)s.") % facts
    return ngettext(
        "%(person)s cannot drive that fast: %(shoot)s, %(when)s, leaves %(lacking)d minute too little.",
        "%(person)s cannot drive that fast: %(shoot)s, %(when)s, leaves %(lacking)d minutes too little.",
        found.short_by,
    ) % (facts | {"lacking": found.short_by})
