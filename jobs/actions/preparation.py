"""The preparation sheet: what the client does before the crew comes, by what the package captures."""

from dataclasses import dataclass

from django.utils.translation import gettext as _

from jobs.models import Package, Shoot
from office.actions.notices import Attachment
from office.models import Office
from office.rules.date_format import format_span


@dataclass(frozen=True)
class Part:
    """Some lines under one heading."""

    heading: str
    lines: tuple[str, ...]


def preparation_of(package: Package) -> tuple[Part, ...]:
    """Doors and light, what to put away, who is at home, consent. Common practice, no source."""
    return tuple(part for part in (_doors(package), _away(package), _at_home(), _consent(package)) if part.lines)


def preparation_sheet(shoot: Shoot) -> Attachment:
    """The sheet as a PDF to go with the confirmation."""
    from jobs.paper.preparation import PreparationSheet, draw_preparation
    from office.paper.sheet import Letterhead

    office, zone = Office.the(), shoot.property.zone
    lines = (*office.address_lines, office.phone, office.email)
    sheet = PreparationSheet(
        letterhead=Letterhead(office.name, tuple(line for line in lines if line), office.country),
        what=_("Preparation sheet"),
        title=str(shoot.property),
        cells=((_("Number"), shoot.number), (_("Package"), shoot.package.name)),
        when=_("We arrive: %s") % format_span(shoot.starts_at, shoot.window_end, zone, office.locale),
        parts=tuple((part.heading, part.lines) for part in preparation_of(shoot.package)),
        closing=_("If anything cannot be ready, tell us before we come: we may have to leave it out."),
    )
    return Attachment("preparation.pdf", "application/pdf", draw_preparation(sheet))


def _doors(package: Package) -> Part:
    lines = []
    if package.has_plan:
        lines += [
            _("Every door can be opened, closets, store rooms, garage and basement too; nothing stands in the way."),
            _("Curtains and shower screens can be drawn back; stairs and halls are clear."),
        ]
    if package.has_tour:
        lines += [
            _("All lights work and are on; blinds are set as you wish them to be seen."),
            _("Rooms that are not to be shown: tell us which, and keep their doors closed."),
        ]
    if package.has_plan and package.has_tour:
        lines.append(_("We measure with doors and curtains open and show the house with them closed; please let us."))
    return Part(_("Doors, curtains and lights"), tuple(lines))


def _away(package: Package) -> Part:
    lines = [line.strip() for line in package.preparation.splitlines() if line.strip()]
    if package.has_tour:
        lines = [
            _("Valuables, keys, papers, screens, medicine and family pictures are out of sight."),
            _("Beds made, surfaces clear, bins and vehicles out of view."),
            *lines,
        ]
    return Part(_("Put away"), tuple(lines))


def _at_home() -> Part:
    return Part(
        _("People and animals"),
        (
            _("People stay out of the rooms while we capture them; nobody should be in the pictures."),
            _("Pets are shut away or out of the house, dogs before the door opens."),
            _("The alarm is off; gate, garage and any locked room are open, or somebody has the key."),
        ),
    )


def _consent(package: Package) -> Part:
    lines = [_("You may let us in, and everybody who lives here knows that the house will be captured.")]
    if package.has_tour:
        lines.append(_("Whoever owns or rents the house agrees that its inside will be shown."))
    return Part(_("Consent"), tuple(lines))
