"""What the rules say of a shoot's walk: the walk check's verdict, and the walk to take."""

import math
from collections.abc import Sequence

from jobs.models import Property, Shoot, WalkSettings
from jobs.rules.walkcheck import WalkVerdict, check_walk
from jobs.rules.walkplan import PlannedStation, plan_walk

from .shapes import areas_of, shape_of, stations_of


def judge(shoot: Shoot) -> WalkVerdict:
    """What the walk check says of the log as it stands, by the office's own distances."""
    shape = shape_of(Property.objects.with_shape().get(pk=shoot.property_id))
    return check_walk(shape, stations_of(shoot), shoot.package.covers, WalkSettings.the().limits)


def planned_walk(shoot: Shoot) -> Sequence[PlannedStation]:
    """The walk to take through the property; nothing where no space is known yet."""
    house = Property.objects.with_shape().get(pk=shoot.property_id)
    if not house.spaces.all():
        return ()
    return plan_walk(shape_of(house), shoot.package.covers, WalkSettings.the().spacing, areas_of(house))


def minutes_of(planned: Sequence[PlannedStation]) -> int:
    """About how long the planned stations take, by the office's own figure."""
    return math.ceil(len(planned) * WalkSettings.the().minutes_a_station)
