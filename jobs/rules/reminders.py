"""When a client is reminded of a visit: as the office opens on the last working day before it."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from office.rules.calendar import Calendar
from office.rules.worktime import openings_between

LOOKS_BACK = timedelta(days=30)
WITHOUT_WORKING_DAY = timedelta(hours=24)


def reminder_at(starts_at: datetime, calendar: Calendar) -> datetime:
    """The first opening of the last working date before the visit's own local date; both aware.

    Where there is no working day in the month before, a day ahead.
    """
    zone = ZoneInfo(calendar.zone)
    midnight = datetime.combine(starts_at.astimezone(zone).date(), time(), zone)
    opens = [start for start, _end in openings_between(calendar, midnight - LOOKS_BACK, midnight)]
    if not opens:
        return starts_at - WITHOUT_WORKING_DAY
    last = opens[-1].astimezone(zone).date()
    return next(start for start in opens if start.astimezone(zone).date() == last)
