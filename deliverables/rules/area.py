"""Floor areas of a plan by level and grade under a named measuring rule.

Exact for each part, added exactly, and rounded once when they are written down.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import reduce
from operator import add
from typing import NamedTuple

from deliverables.rules import area_ansi, area_as_drawn, area_ipms
from deliverables.rules.area_plan import Grade, Level, Part, Plan, Unit
from deliverables.rules.area_sums import EXCLUDED, Area, Steps, Sums, area_of


class Rule(StrEnum):
    """The measuring rules by the names the terminal takes."""

    ANSI_Z765 = "ansi-z765"
    IPMS_3B = "ipms-3b"
    AS_DRAWN = "as-drawn"


class _Method(NamedTuple):
    sums: Callable[[Part, Grade, Unit], Sums]
    notes: Callable[[Plan, Mapping[int, Sums]], Iterable[str]]
    steps: Steps


METHODS = {
    Rule.ANSI_Z765: _Method(area_ansi.sums, area_ansi.notes, area_ansi.STEPS),
    Rule.IPMS_3B: _Method(area_ipms.sums, area_ipms.notes, area_ipms.STEPS),
    Rule.AS_DRAWN: _Method(area_as_drawn.sums, area_as_drawn.notes, area_as_drawn.STEPS),
}

CAUTION = (
    "Approximate, for marketing. Not a boundary survey, appraisal, inspection or legal area: "
    "rely on a licensed surveyor or appraiser. Local rules differ."
)


@dataclass(frozen=True)
class Areas:
    """Areas as reported; `excluded` is not part of the area of the house."""

    above_grade_finished: Area
    below_grade_finished: Area
    unfinished: Area
    excluded: dict[str, Area]


@dataclass(frozen=True)
class AreaSheet:
    """The areas of each level, by its number, and of the house; each is rounded from its own exact figure."""

    levels: dict[int, Areas]
    totals: Areas
    notes: tuple[str, ...]


def measure(plan: Plan, rule: Rule) -> AreaSheet:
    """The areas of `plan` under `rule`, with the notes that must go with them."""
    method = METHODS[rule]
    by_level = {level.number: _level_sums(level, plan.unit, method) for level in plan.levels}
    return AreaSheet(
        levels={number: _areas(sums, plan.unit, method.steps) for number, sums in by_level.items()},
        totals=_areas(reduce(add, by_level.values()), plan.unit, method.steps),
        notes=(*method.notes(plan, by_level), _rounding(method.steps), CAUTION),
    )


def _level_sums(level: Level, unit: Unit, method: _Method) -> Sums:
    return reduce(add, (method.sums(part, level.grade, unit) for part in level.parts), Sums())


def _areas(sums: Sums, unit: Unit, steps: Steps) -> Areas:
    return Areas(
        above_grade_finished=area_of(sums.above_grade_finished, unit, steps),
        below_grade_finished=area_of(sums.below_grade_finished, unit, steps),
        unfinished=area_of(sums.unfinished, unit, steps),
        excluded={name: area_of(getattr(sums, name), unit, steps) for name in EXCLUDED},
    )


def _rounding(steps: Steps) -> str:
    whole = "whole square feet" if steps.sqft == 1 else f"{steps.sqft} sq ft"
    return f"Each figure is rounded once, to {whole} and {steps.m2} m², so rounded levels may not add up to the total."
