"""Who is busy when, the drives included. Nobody is ever put in two places.

The crew's rows are locked before their time is read. Each person's visits of neighbouring dates are then reckoned
anew, so that each carries the drive that leads to it and the last one the drive home.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils.functional import lazy
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from jobs.guards import GUARD
from jobs.models import CrewMember, Property, Shoot
from jobs.rules.busy import Clash, Held, busy_times, clash
from office.errors import Refused
from office.models import Office, Person
from office.rules.date_format import format_span

from .places import Surroundings, spot_of, surroundings
from .slots import next_windows

AROUND = timedelta(days=2)
"""As far as a visit can change the drives of others, and a day more."""


def hold_crew(*, shoot: Shoot, crew: Sequence[Person], was_at: datetime | None, now: datetime) -> None:
    """Make `crew` the shoot's crew for its time, which is stored already; refused where one of them is busy.

    `was_at` is when the visit began before it was moved: the drives of that day change too.
    """
    around = surroundings()
    former = list(Person.objects.filter(memberships__shoot=shoot).exclude(pk__in=[person.pk for person in crew]))
    lock_people([*crew, *former])
    for person in crew:
        found = clash_of(shoot, person, around)
        if found:
            raise Refused(lazy(_why_not, str)(shoot, crew, person, found, now), field="crew")
    shoot.members.exclude(person__in=crew).delete()
    for person in crew:
        CrewMember.objects.get_or_create(shoot=shoot, person=person)
    for person in [*crew, *former]:
        _rechain(person, [at for at in (shoot.starts_at, was_at) if at], around)


def _why_not(shoot: Shoot, crew: Sequence[Person], person: Person, found: Clash, now: datetime) -> str:
    """Put into words only when it is shown, which is after the transaction: nobody waits for the words of others."""
    return busy_then(person, found, Office.the()) + next_windows(shoot=shoot, crew=crew, now=now)


def release_crew(*, shoot: Shoot) -> None:
    """The shoot no longer keeps its crew busy; who was to come stays on record."""
    crew = list(shoot.crew.all())
    lock_people(crew)
    shoot.members.update(busy_from=None, busy_until=None)
    if shoot.starts_at:
        around = surroundings()
        for person in crew:
            _rechain(person, [shoot.starts_at], around)


def rechain_visits_at(*, property: Property, now: datetime) -> None:
    """Reckon the drives of all coming visits to a property anew: it, or the way to it, has changed."""
    _rechain_all(CrewMember.objects.filter(shoot__property=property, busy_until__gt=now))


def rechain_coming(*, now: datetime) -> None:
    """Reckon the drives of all coming visits anew: the office drives otherwise."""
    _rechain_all(CrewMember.objects.filter(busy_until__gt=now))


def held_near(shoot: Shoot, person: Person, office: Office) -> list[Held]:
    """The person's other visits about the time the shoot carries, whether or not that time is stored."""
    members = _members(person, shoot.starts_at, shoot.ends_at)
    return [held_of(member.shoot, office) for member in members if member.shoot_id != shoot.pk]


def clash_of(shoot: Shoot, person: Person, around: Surroundings) -> Clash | None:
    """What keeps a person from the shoot at the time it carries."""
    return clash(held_of(shoot, around.office), held_near(shoot, person, around.office), around.drives)


def held_of(shoot: Shoot, office: Office) -> Held:
    day = office.day_of(shoot.starts_at)
    return Held(shoot.pk, spot_of(shoot.property), day, shoot.starts_at, shoot.ends_at)


def busy_then(person: Person, found: Clash, office: Office) -> str:
    """What stands in the way, in words."""
    facts = {
        "person": person,
        "shoot": Shoot.objects.values_list("number", flat=True).get(pk=found.held.key),
        "when": format_span(found.held.starts_at, found.held.ends_at, office.zone, office.locale),
    }
    if found.short_by is None:
        return _("%(person)s is busy then: %(shoot)s, %(when)s.") % facts
    return ngettext(
        "%(person)s cannot drive that fast: %(shoot)s, %(when)s, leaves %(lacking)d minute too little.",
        "%(person)s cannot drive that fast: %(shoot)s, %(when)s, leaves %(lacking)d minutes too little.",
        found.short_by,
    ) % (facts | {"lacking": found.short_by})


def lock_people(people: Iterable[Person]) -> None:
    """Always in the order of the key, so that two bookings of one pair of people cannot wait for each other."""
    list(Person.objects.select_for_update().filter(pk__in={person.pk for person in people}).order_by("pk"))


def _rechain_all(rows: QuerySet[CrewMember]) -> None:
    moments: dict[Person, list[datetime]] = {}
    for member in rows.select_related("person", "shoot").order_by("shoot__starts_at", "pk"):
        moments.setdefault(member.person, []).append(member.shoot.starts_at)
    lock_people(moments)
    around = surroundings()
    for person, starts in moments.items():
        _rechain(person, starts, around)


def _members(person: Person, start: datetime, end: datetime) -> list[CrewMember]:
    """The person's standing visits within two days of the span, in the order of the clock."""
    return list(CrewMember.objects.standing(start - AROUND, end + AROUND).filter(person=person))


def _rechain(person: Person, moments: Sequence[datetime], around: Surroundings) -> None:
    """Store the drives anew around each moment. The outermost visits read lack a neighbour, so they stay."""
    for day, moment in {moment.astimezone(around.zone).date(): moment for moment in moments}.items():
        members = {member.shoot_id: member for member in _members(person, moment, moment)}
        held = [held_of(member.shoot, around.office) for member in members.values()]
        chain = busy_times(held, around.home, around.drives)
        near = [busy for busy in chain if abs((busy.held.day - day).days) <= 1]
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
