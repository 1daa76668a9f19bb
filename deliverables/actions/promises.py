"""What a drafter promises, in the drafter's own working time."""

from datetime import UTC, datetime
from decimal import Decimal

from deliverables.models import Drafter
from office.rules.calendar import Calendar, calendar_of
from office.rules.worktime import due, next_opening


def calendar_of_drafter(drafter: Drafter) -> Calendar:
    return calendar_of(drafter.zone, drafter.hours, drafter.holidays, source=str(drafter))


def promised(drafter: Drafter, start: datetime, hours: Decimal) -> datetime:
    """When `hours` of the drafter's working time have passed since `start`."""
    return due(calendar_of_drafter(drafter), start, hours).astimezone(UTC)


def when_at_work(drafter: Drafter, now: datetime) -> datetime:
    """Now, or the drafter's next opening."""
    return next_opening(calendar_of_drafter(drafter), now).astimezone(UTC)
