"""As drawn: plain sums of what the plan shows, by kind and grade, with no rule about height or connection."""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from deliverables.rules.area_plan import Plan
from deliverables.rules.area_sums import Steps, Sums, by_kind_and_grade

STEPS = Steps(sqft=Decimal("0.01"), m2=Decimal("0.01"))
sums = by_kind_and_grade


def notes(_plan: Plan, _by_level: Mapping[int, Sums]) -> Iterator[str]:
    yield (
        "Measuring rule: none. The areas are those of the shapes on the plan, by their kind; "
        "ceiling height and the way to a room are not looked at."
    )
