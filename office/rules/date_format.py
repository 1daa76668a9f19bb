"""Dates and times as the office writes them, by the locale data of the Unicode CLDR."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_time


def format_day(value: date | datetime, zone: str, locale: str) -> str:
    """ "Tue, Mar 3, 2026"; an instant is first brought to `zone`."""
    local = value.astimezone(ZoneInfo(zone)) if isinstance(value, datetime) else value
    skeleton = "EEE, MMM d, y" if locale.startswith("en_US") else "EEE d MMM y"
    return format_date(local, skeleton, locale=locale)


def format_moment(at: datetime, zone: str, locale: str) -> str:
    """ "Tue, Mar 3, 2026, 9:30 AM" in `zone`."""
    return f"{format_day(at, zone, locale)}, {format_clock(at, zone, locale)}"


def format_clock(at: datetime, zone: str, locale: str) -> str:
    """ "9:30 AM" in `zone`, or "09:30" where the locale counts to 24."""
    return format_time(at, "short", tzinfo=ZoneInfo(zone), locale=locale).replace(
        "\N{NARROW NO-BREAK SPACE}", "\N{NO-BREAK SPACE}"
    )


def format_span(start: datetime, end: datetime, zone: str, locale: str) -> str:
    """ "Tue, Mar 3, 2026, 9:30 AM to 10:00 AM"; the second date only where it differs."""
    same_day = start.astimezone(ZoneInfo(zone)).date() == end.astimezone(ZoneInfo(zone)).date()
    last = format_clock(end, zone, locale) if same_day else format_moment(end, zone, locale)
    return f"{format_moment(start, zone, locale)} – {last}"


def iso_moment(at: datetime, zone: str) -> str:
    """ISO 8601 with the zone's offset, for machines."""
    return at.astimezone(ZoneInfo(zone)).isoformat(timespec="seconds")
