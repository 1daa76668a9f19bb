"""Who is busy when. Nobody is ever put in two places: the crew's rows are locked before their time is read."""

from collections.abc import Sequence
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from jobs.guards import GUARD
from jobs.models import CrewMember, Shoot
from office.errors import Refused
from office.models import Office, Person
from office.rules.date_format import format_span


def hold_crew(*, shoot: Shoot, crew: Sequence[Person], busy_from: datetime, busy_until: datetime) -> None:
    """Make `crew` the shoot's crew for this time; refused, with nothing changed, where one of them is busy."""
    _lock(crew)
    for person in crew:
        _refuse_if_busy(person, shoot, busy_from, busy_until)
    shoot.members.exclude(person__in=crew).delete()
    for person in crew:
        _hold(shoot, person, busy_from, busy_until)


def release_crew(*, shoot: Shoot) -> None:
    """The shoot no longer keeps its crew busy; who was to come stays on record."""
    shoot.members.update(busy_from=None, busy_until=None)


def _lock(crew: Sequence[Person]) -> None:
    """Always in the order of the key, so that two bookings of one pair of people cannot wait for each other."""
    list(Person.objects.select_for_update().filter(pk__in=[person.pk for person in crew]).order_by("pk"))


def _hold(shoot: Shoot, person: Person, busy_from: datetime, busy_until: datetime) -> None:
    """The database refuses what the lock could not see, such as a row written by hand."""
    try:
        with transaction.atomic():
            CrewMember.objects.update_or_create(
                shoot=shoot, person=person, defaults={"busy_from": busy_from, "busy_until": busy_until}
            )
    except IntegrityError as error:
        if GUARD not in str(error):
            raise
        raise Refused(_("%s has just been booked for that time.") % person, field="crew") from None


def _refuse_if_busy(person: Person, shoot: Shoot, busy_from: datetime, busy_until: datetime) -> None:
    clash = CrewMember.objects.clashing(person, busy_from, busy_until).exclude(shoot=shoot).first()
    if clash:
        office = Office.the()
        when = format_span(clash.busy_from, clash.busy_until, office.zone, office.locale)
        raise Refused(
            _("%(person)s is busy then: %(shoot)s, %(when)s.")
            % {"person": person, "shoot": clash.shoot.number, "when": when},
            field="crew",
        )
