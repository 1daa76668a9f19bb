"""Between the rows of a property or walk and the plain shapes that the rules and the files know."""

import json
from decimal import Decimal
from typing import Any

from jobs.models import Property, Shoot
from jobs.rules.property_shape import Level, Opening, PropertyShape, Space, parse_property
from jobs.rules.walk import Station

TYPED = "what you typed"


def shape_of(house: Property) -> PropertyShape:
    """The property as the walk rules need it."""
    return PropertyShape(
        levels=tuple(
            Level(number=level.number, name=level.name, grade=level.grade, elevation_m=level.elevation_m)
            for level in house.levels.all()
        ),
        spaces=tuple(
            Space(code=space.code, name=space.name, kind=space.kind, level=space.level.number, private=space.private)
            for space in house.spaces.all()
        ),
        openings=tuple(
            Opening(code=opening.code, between=(opening.one.code, opening.other.code), kind=opening.kind)
            for opening in house.openings.all()
        ),
        entrance=house.entrance.code if house.entrance else "",
    )


def shape_json(house: Property) -> dict[str, Any]:
    """The property as the PROPERTY file of the walk check."""
    return {
        "levels": [
            {"number": level.number, "name": level.name, "grade": level.grade, "elevation_m": str(level.elevation_m)}
            for level in house.levels.all()
        ],
        "spaces": [
            {
                "code": space.code, "name": space.name, "kind": space.kind,
                "level": space.level.number, "private": space.private,
            }
            for space in house.spaces.all()
        ],
        "openings": [
            {"code": opening.code, "between": [opening.one.code, opening.other.code], "kind": opening.kind}
            for opening in house.openings.all()
        ],
        "entrance": house.entrance.code if house.entrance else "",
    }  # fmt: skip


def areas_of(house: Property) -> dict[str, Decimal]:
    """Square metres by space code, where they are known."""
    return {space.code: space.area_m2 for space in house.spaces.all() if space.area_m2}


def shape_from_parts(**parts: Any) -> PropertyShape:
    """Levels, spaces, openings and entrance as plain lists, checked like a file; raises `BadInput`."""
    return parse_property(json.dumps(parts), TYPED)


def stations_of(shoot: Shoot) -> list[Station]:
    """The logged walk as the walk rules need it, in the order of the numbers."""
    return [
        Station(
            number=row.number,
            level=row.level.number,
            space=row.space.code,
            captured_for=row.captured_for,
            pair_of=row.pair_of,
            opening=row.opening.code if row.opening else None,
            ties_to=row.ties_to,
            x=row.x,
            y=row.y,
        )
        for row in shoot.stations.in_order()
    ]
