"""What a time and a crew would mean, told before anything is saved: who is busy, who drives how far, who is told."""

from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from django.utils.translation import gettext as _

from jobs.models import Severity, Shoot, ShootState
from jobs.rules.busy import Busy, Clash, busy_times
from jobs.rules.daylight import daylight
from jobs.rules.drives import Drives, Spot
from jobs.rules.late_fee import Wish
from office.models import Office, Person
from office.rules.date_format import format_clock, format_day
from office.rules.worktime import openings_between

from .booking import busy_then, clash_of, held_near, held_of
from .calendars import WorkingDays, working_days
from .estimates import estimates_of
from .fees import moving_costs, plain
from .places import Surroundings, spot_of, surroundings
from .shoots import Timing
from .slots import next_windows

NOTE = "note"


@dataclass(frozen=True)
class Consequence:
    """`weight` is must (it will be refused), should (think twice) or note."""

    weight: str
    text: str


def consequences_of(timing: Timing, now: datetime) -> list[Consequence]:
    """In the order in which an owner asks: can it be, should it be, what does it cost, who hears of it."""
    trial = _trial(timing)
    view = _View(trial, timing.crew, surroundings())
    return [
        *_clashes(view, now),
        *_misfits(view, now),
        *_drives(view),
        *_staying(view, len(timing.crew)),
        *_costs(timing, now),
        *_hearers(timing),
    ]


@dataclass(frozen=True)
class _View:
    shoot: Shoot
    crew: Sequence[Person]
    around: Surroundings

    @property
    def office(self) -> Office:
        return self.around.office

    @property
    def day(self) -> date:
        return self.shoot.starts_at.astimezone(self.around.zone).date()

    @cached_property
    def clashes(self) -> dict[Person, Clash]:
        found = {person: clash_of(self.shoot, person, self.around) for person in self.crew}
        return {person: clash for person, clash in found.items() if clash}

    def clock(self, at: datetime) -> str:
        return format_clock(at, self.office.zone, self.office.locale)


def _trial(timing: Timing) -> Shoot:
    """The shoot as it would be; never saved."""
    trial = copy(timing.shoot)
    trial.starts_at, trial.window_end, trial.ends_at = timing.starts_at, timing.window_end, timing.ends_at
    return trial


def _clashes(view: _View, now: datetime) -> Iterator[Consequence]:
    for person, clash in view.clashes.items():
        yield Consequence(Severity.MUST, busy_then(person, clash, view.office))
    if view.clashes:
        yield Consequence(NOTE, next_windows(shoot=view.shoot, crew=view.crew, now=now).strip())


def _misfits(view: _View, now: datetime) -> Iterator[Consequence]:
    if view.shoot.starts_at < now:
        yield Consequence(Severity.SHOULD, _("This time is past."))
    working = working_days(view.office, view.around.rules, view.day, view.day)
    for person in view.crew:
        if text := _out_of_hours(view, working, person):
            yield Consequence(Severity.SHOULD, text)
    yield from _in_the_dark(view)


def _out_of_hours(view: _View, working: WorkingDays, person: Person) -> str:
    facts = {"person": person, "day": format_day(view.day, view.office.zone, view.office.locale)}
    if why := working.why_away(person, view.day):
        return _("%(person)s does not work on %(day)s: %(why)s.") % (facts | {"why": why})
    calendar = working.calendar(person)
    hold = (view.shoot.starts_at, view.shoot.ends_at)
    if calendar is None or list(openings_between(calendar, *hold)) != [hold]:
        return _("%(person)s does not work through all of this time on %(day)s.") % facts
    return ""


def _in_the_dark(view: _View) -> Iterator[Consequence]:
    if not any(extra.add_on.needs_daylight for extra in view.shoot.add_ons.select_related("add_on")):
        return
    place = spot_of(view.shoot.property).place or view.around.home.place
    if place is None:
        text = _("An add-on needs daylight, and without coordinates nobody can say when the sun is up.")
        yield Consequence(Severity.SHOULD, text)
        return
    light = daylight(place, view.day, view.office.zone)
    if light.holds(view.shoot.starts_at, view.shoot.ends_at):
        return
    facts = {"rises": "–", "sets": "–"}
    if light.sunrise and light.sunset:
        facts = {"rises": view.clock(light.sunrise), "sets": view.clock(light.sunset)}
    text = _("An add-on needs daylight; the sun is up from %(rises)s to %(sets)s.") % facts
    yield Consequence(Severity.SHOULD, text)


def _drives(view: _View) -> Iterator[Consequence]:
    for person in view.crew:
        if person not in view.clashes:
            yield Consequence(NOTE, _drive_said(view, person))


def _drive_said(view: _View, person: Person) -> str:
    """ "Tobias Renn drives 22 minutes from the office and 15 on to 4 Oak; over the day +12 minutes (estimate…)."."""
    home, drives = view.around.home, view.around.drives
    new = held_of(view.shoot, view.office)
    others = [held for held in held_near(view.shoot, person, view.office) if held.day == view.day]
    day, without = busy_times([*others, new], home, drives), busy_times(others, home, drives)
    number = next(number for number, busy in enumerate(day) if busy.held == new)
    before, after = day[number].came_from, home if day[number].goes_home else day[number + 1].held.spot
    there, on = drives.drive(before, new.spot), drives.drive(new.spot, after)
    labels = dict.fromkeys(_(drive.label) for drive in (there, on) if drive.minutes)
    text = _(
        "%(person)s drives %(there)d minutes from %(before)s and %(on)d on to %(after)s; "
        "over the day %(more)+d minutes (%(labels)s)."
    )
    return text % {
        "person": person, "there": there.minutes, "before": _name(before, home), "on": on.minutes,
        "after": _name(after, home), "more": _driven(day, home, drives) - _driven(without, home, drives),
        "labels": ", ".join(labels) or _("no drive"),
    }  # fmt: skip


def _driven(day: Sequence[Busy], home: Spot, drives: Drives) -> int:
    there = sum(drives.minutes(busy.came_from, busy.held.spot) for busy in day)
    return there + sum(drives.minutes(busy.held.spot, home) for busy in day if busy.goes_home)


def _name(spot: Spot, home: Spot) -> str:
    return _("the office") if spot.key == home.key else spot.name


def _staying(view: _View, crew: int) -> Iterator[Consequence]:
    minutes, planned = estimates_of(view.shoot).of(crew).minutes, view.shoot.planned_minutes() or 0
    facts = {"planned": planned, "half": minutes.p50, "most": minutes.p80}
    text = (
        _("%(planned)d minutes on site; half of such visits take up to %(half)d, four in five up to %(most)d.") % facts
    )
    yield Consequence(Severity.SHOULD if planned < minutes.p50 else NOTE, text)


def _costs(timing: Timing, now: datetime) -> Iterator[Consequence]:
    percent = moving_costs(timing.shoot, Wish.CLIENT, now) if _moves(timing) else 0
    if percent:
        text = _("It is late for a move: at the client's wish it costs %s %% of the price.") % plain(percent)
        yield Consequence(Severity.SHOULD, text)


def _hearers(timing: Timing) -> Iterator[Consequence]:
    shoot = timing.shoot
    if shoot.state == ShootState.CONFIRMED and _moves(timing):
        yield Consequence(NOTE, _("%s was promised the old time and is told of the new one by mail.") % shoot.client)
    if shoot.state == ShootState.PENCILLED:
        yield Consequence(NOTE, _("The visit stays pencilled; %s is not told before it is confirmed.") % shoot.client)
    if shoot.weather_decide_at:
        yield Consequence(NOTE, _("The weather hold ends."))
    names = ", ".join(str(person) for person in timing.crew)
    yield Consequence(NOTE, _("Invited by mail: %s.") % names)
    dropped = [str(person) for person in shoot.crew.all() if person not in timing.crew]
    if dropped:
        yield Consequence(NOTE, _("Taken off and told so: %s.") % ", ".join(dropped))


def _moves(timing: Timing) -> bool:
    shoot = timing.shoot
    return shoot.starts_at is not None and (shoot.starts_at, shoot.window_end) != (timing.starts_at, timing.window_end)
