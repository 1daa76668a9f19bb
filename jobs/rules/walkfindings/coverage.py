"""Whether every space was captured for what the client ordered, and nothing private is shown."""

from collections import Counter
from collections.abc import Iterator

from jobs.rules.property_shape import Space
from jobs.rules.walkfindings.log import Finding, WalkLog

LEAST_IN_WALK_IN_CLOSET = 2
_OPENED_TO_BE_SEEN = frozenset({"closet", "walk_in_closet"})


def uncaptured_spaces(log: WalkLog) -> Iterator[Finding]:
    """One finding a space, though it lacks both plan and tour.

    A plan needs every space but the exterior, a tour every space that is neither private nor of the kind `closet`.
    """
    planned, toured = _captured(log)
    for space in log.shape.spaces:
        no_plan = log.has_plan and space.kind != "exterior" and not planned[space.code]
        no_tour = log.has_tour and not space.private and space.kind != "closet" and not toured[space.code]
        if no_plan or no_tour:
            text = _go_back(space, no_plan=no_plan, no_tour=no_tour)
            yield Finding("space-not-captured", "must", space.level, space.code, None, text)


def _captured(log: WalkLog) -> tuple[Counter[str], Counter[str]]:
    """How many stations of each space serve the plan, and the tour."""
    planned = Counter(station.space for station in log.stations if station.for_plan)
    toured = Counter(station.space for station in log.stations if station.for_tour)
    return planned, toured


def _go_back(space: Space, *, no_plan: bool, no_tour: bool) -> str:
    if no_plan and no_tour:
        return f"{space.label} has no plan station and no tour station: go back and capture it."
    if no_tour:
        return f"{space.label} has no tour station: go back and capture it as a visitor should see it."
    to_do = "open it" if space.kind in _OPENED_TO_BE_SEEN else "capture it with everything open"
    return f"{space.label} has no plan station: go back and {to_do}."


def thin_closets(log: WalkLog) -> Iterator[Finding]:
    """A walk-in closet is not measured from one station."""
    planned, _ = _captured(log)
    for space in log.shape.spaces:
        if log.has_plan and space.kind == "walk_in_closet" and planned[space.code] < LEAST_IN_WALK_IN_CLOSET:
            found = "one plan station" if planned[space.code] else "no plan station"
            text = f"{space.label} has {found}: a walk-in closet takes {LEAST_IN_WALK_IN_CLOSET} or more."
            yield Finding("closet-thin", "should", space.level, space.code, None, text)


def shown_private(log: WalkLog) -> Iterator[Finding]:
    for station in log.stations:
        if log.has_tour and station.for_tour and log.is_private(station):
            where = log.space_label(station.space)
            text = f"Station {station.number} shows {where}, which is private: make it a plan station or hide it."
            yield log.find("shown-private", "must", station, text)
