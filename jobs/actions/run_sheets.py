"""What stands on a run sheet. Importing this loads reportlab."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from jobs.models import OpeningKind, Property, Shoot, SpaceKind
from jobs.models.walk import Pass
from jobs.paper.run_sheet import Labels, RunSheet, WalkStep, run_sheet_pdf
from jobs.rules.walkplan import PlannedStation
from office.models import Office
from office.paper.sheet import Letterhead, TitleBlock, Words
from office.rules.date_format import format_clock, format_day, format_span
from office.rules.money_format import format_area
from office.rules.units import AreaUnit, converted_area

from .verdicts import minutes_of, planned_walk


def run_sheet(shoot: Shoot) -> bytes:
    """The PDF for the crew of this visit; never an entry code, as paper is left lying about."""
    return run_sheet_pdf(sheet_of(shoot))


def sheet_of(shoot: Shoot) -> RunSheet:
    office = Office.the()
    house = Property.objects.with_shape().get(pk=shoot.property_id)
    planned = planned_walk(shoot)
    day = format_day(shoot.starts_at, house.zone, office.locale) if shoot.starts_at else _("no time yet")
    return RunSheet(
        letterhead=Letterhead(
            office.name, tuple(line for line in (office.phone, office.email) if line), office.country
        ),
        block=TitleBlock(_("Run sheet"), ", ".join(house.address_lines), ((_("Job"), shoot.number), (_("Day"), day))),
        words=Words(get_language() or "en", _("Sheet"), _("of")),
        labels=_labels(),
        facts=tuple(_facts(shoot, house, office)),
        geo_uri=geo_uri(house),
        getting_in="\n".join(line for line in (house.access_notes, shoot.notes) if line),
        cautions=tuple(_cautions(shoot, house, office)),
        kit=tuple(shoot.package.kit_items),
        levels=tuple(_levels(house)),
        walk_summary=_summary(planned),
        walk=tuple(walk_steps(planned)),
        no_walk=_("The levels and spaces of the property are not known yet, so there is no plan of the walk."),
    )


def geo_uri(house: Property) -> str:
    """The place as any phone's map takes it (RFC 5870), WGS 84; "" when it is not known."""
    if house.latitude is None or house.longitude is None:
        return ""
    return f"geo:{_degrees(house.latitude)},{_degrees(house.longitude)}"


def _degrees(value: Decimal) -> str:
    """Six decimals lie within 11 cm; zeros at the end say nothing more."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def walk_steps(planned: Sequence[PlannedStation]) -> Iterator[WalkStep]:
    """One line for stations in a row that are alike, such as moving on through one room."""
    words = dict(Pass.choices)
    for (text, captured_for), alike in groupby(planned, key=lambda step: (step.text, step.station.captured_for)):
        numbers = [step.station.number for step in alike]
        span = str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]}–{numbers[-1]}"
        yield WalkStep(span, str(words[captured_for]), text)


def _facts(shoot: Shoot, house: Property, office: Office) -> Iterator[tuple[str, str]]:
    unit = AreaUnit(office.area_unit)
    area = format_area(converted_area(house.area_m2, AreaUnit.M2, unit), unit, office.locale)
    if shoot.starts_at:
        yield _("Arrival"), format_span(shoot.starts_at, shoot.window_end, house.zone, office.locale)
        yield _("Leaves by"), format_clock(shoot.ends_at, house.zone, office.locale)
    yield _("Crew"), ", ".join(_reachable(person.name, person.phone) for person in shoot.crew.all()) or _("nobody yet")
    yield _("Client"), _reachable(str(shoot.client), shoot.client.phone)
    extras = [f"{extra.quantity} × {extra.add_on}" for extra in shoot.add_ons.select_related("add_on")]
    yield _("Ordered"), ", ".join([str(shoot.package), *extras])
    yield _("House"), _("%(area)s, %(levels)d levels") % {"area": area, "levels": house.level_count}


def _reachable(name: str, phone: str) -> str:
    return f"{name}, {phone}" if phone else name


def _cautions(shoot: Shoot, house: Property, office: Office) -> Iterator[str]:
    """From the house and the crew; the wording is common practice, the local law comes first."""
    if shoot.crew.count() == 1:
        end = format_clock(shoot.ends_at, house.zone, office.locale) if shoot.ends_at else _("the agreed time")
        yield (
            _("Alone on site: say when you arrive and when you leave; the office calls when it has not heard by %s.")
            % end
        )
    if house.level_count > 1:
        yield _("Stairs: one carries, one looks; alone, a hand stays free and you go twice.")
    if _has_garage(house):
        yield _("Garage: its doors are held or stopped before anybody stands under them.")
    yield from house.caution_words
    yield _("Touch no electrical panel. Cables out of the way, ladders faced. Local law and site rules come first.")


def _has_garage(house: Property) -> bool:
    kinds = {space.kind for space in house.spaces.all()} | {opening.kind for opening in house.openings.all()}
    return bool(kinds & {SpaceKind.GARAGE, OpeningKind.GARAGE_DOOR})


def _levels(house: Property) -> Iterator[tuple[str, str]]:
    """The highest first, as a house stands."""
    for level in reversed(house.levels.all()):
        names = [space.name for space in house.spaces.all() if space.level_id == level.pk]
        yield f"{level.number} · {level.name}", ", ".join(names) or "–"


def _summary(planned: Sequence[PlannedStation]) -> str:
    n = len(planned)
    text = ngettext("%(n)d station, about %(minutes)d minutes", "%(n)d stations, about %(minutes)d minutes", n)
    return text % {"n": n, "minutes": minutes_of(planned)}


def _labels() -> Labels:
    return Labels(
        getting_in=_("Getting in"),
        cautions=_("Take care"),
        kit=_("In the bag, and back in the bag"),
        levels=_("Levels"),
        walk=_("Plan of the walk"),
        notes=_("Notes"),
        map=_("Scan for the map"),
    )
