"""Whether the log fits the property, and whether its numbers and the property's levels are in order."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from jobs.rules.walk import Station
from jobs.rules.walkfindings.log import Finding, WalkLog


def level_order(log: WalkLog) -> Iterator[Finding]:
    """Levels count from the lowest, which is 1, without a gap, and no two lie at one elevation."""
    storeys = log.shape.storeys
    out_of_place = [level for place, level in enumerate(storeys, start=1) if level.number != place]
    level_with_another = [upper for lower, upper in pairwise(storeys) if lower.elevation_m == upper.elevation_m]
    if out_of_place:
        order = ", ".join(" ".join(f"{place} {level.name}".split()) for place, level in enumerate(storeys, start=1))
        text = f"Number the levels from the lowest up, by elevation: {order}."
        yield Finding("level-order", "must", out_of_place[0].number, None, None, text)
    elif level_with_another:
        first = level_with_another[0]
        text = f"Give {first.label} its own elevation: another level lies at {first.elevation_m:f} m too."
        yield Finding("level-order", "must", first.number, None, None, text)


def unknown_spaces(log: WalkLog) -> Iterator[Finding]:
    for station in log.stations:
        if log.space_of(station) is None:
            text = (
                f"Station {station.number} stands in {station.space}, which is not a space of this property:"
                " correct the log or add the space."
            )
            yield log.find("unknown-space", "must", station, text)


def unknown_levels(log: WalkLog) -> Iterator[Finding]:
    """A level that the property does not have, or on which the station's space is not."""
    for station in log.stations:
        if station.level not in log.shape.level_by_number:
            why = "which this property does not have: correct the level."
        elif station.level not in log.levels_of(station):
            home = log.level_label(log.levels_of(station)[0])
            why = f"but {log.space_label(station.space)} is on {home}: correct the level or the space."
        else:
            continue
        text = f"Station {station.number} is logged on level {station.level}, {why}"
        yield log.find("unknown-level", "must", station, text)


def repeated_numbers(log: WalkLog) -> Iterator[Finding]:
    """One finding for each number that is logged more than once."""
    for number, times in Counter(station.number for station in log.stations).items():
        if times > 1:
            text = f"Station {number} is logged {times} times: give every station its own number."
            yield log.find("station-repeat", "must", log.by_number[number], text)


def skipped_numbers(log: WalkLog) -> Iterator[Finding]:
    """One finding for each gap, at the station after it; a walk begins at 1."""
    before = 0
    for station in log.stations:
        if station.number > before + 1:
            yield log.find("station-gap", "should", station, _skipped(before, station))
        before = station.number


def _skipped(before: int, after: Station) -> str:
    first, last = before + 1, after.number - 1
    missing = f"Station {first} is" if first == last else f"Stations {first} to {last} are"
    return f"{missing} not in the log: add what is missing, or number the stations anew."
