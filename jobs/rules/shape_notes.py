"""What to look at again in a property's levels, spaces and openings before a crew walks it."""

from collections.abc import Iterator
from itertools import pairwise

from jobs.rules.property_shape import PropertyShape, Space


def shape_notes(shape: PropertyShape) -> tuple[str, ...]:
    """Sentences on what is probably forgotten or mistaken; nothing in them keeps a shape from being stored."""
    found = (_elevations, _empty_levels, _missing_stairs, _unreached, _same_names)
    return tuple(sentence for find in found for sentence in find(shape))


def _elevations(shape: PropertyShape) -> Iterator[str]:
    for lower, upper in pairwise(shape.storeys):
        if lower.elevation_m == upper.elevation_m:
            yield f"{lower.name} and {upper.name} lie at one elevation: which is the higher?"


def _empty_levels(shape: PropertyShape) -> Iterator[str]:
    used = {space.level for space in shape.spaces}
    for level in shape.storeys:
        if level.number not in used:
            yield f"{level.name} has no space yet."


def _missing_stairs(shape: PropertyShape) -> Iterator[str]:
    for lower, upper in pairwise(shape.storeys):
        if not shape.stairs_between(lower.number, upper.number):
            yield f"No stair leads from {lower.name} to {upper.name}: the capture cannot carry on between them."


def _unreached(shape: PropertyShape) -> Iterator[str]:
    reached = set(_reached_from(shape.entrance, shape)) if shape.entrance else set()
    if not shape.entrance:
        yield "Say which space one enters first."
        return
    for space in shape.spaces:
        if space.code not in reached:
            yield f"{space.label} cannot be reached from the entrance: which opening leads to it?"


def _reached_from(start: str, shape: PropertyShape) -> Iterator[str]:
    seen, ahead = {start}, [start]
    while ahead:
        code = ahead.pop()
        yield code
        for _opening, beyond in shape.neighbours(code):
            if beyond.code not in seen:
                seen.add(beyond.code)
                ahead.append(beyond.code)


def _same_names(shape: PropertyShape) -> Iterator[str]:
    seen: dict[tuple[int, str], Space] = {}
    for space in shape.spaces:
        other = seen.setdefault((space.level, space.label.casefold()), space)
        if other is not space:
            yield f"{other.code} and {space.code} are both called {space.label}: the crew cannot tell them apart."
