"""The office's rules for its diary, and drives that somebody has timed."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import DiaryRules, Property, TimedDrive
from office.actions.actors import Actor
from office.actions.events import record
from office.errors import Refused
from office.models import Office

from .booking import rechain_coming, rechain_visits_at

DRIVING = frozenset(
    {
        "road_factor", "fixed_minutes", "near_km", "near_speed", "middle_km", "middle_speed", "far_speed",
        "unknown_drive_minutes",
    }
)  # fmt: skip


@transaction.atomic
def set_drive(*, start: Property | None, end: Property, minutes: int, by: Actor, now: datetime) -> TimedDrive:
    """Put timed minutes in the place of the estimate, and reckon the visits to come there anew."""
    if start == end:
        raise Refused(_("A drive is between two places."), field="end")
    drive, _made = TimedDrive.objects.update_or_create(start=start, end=end, defaults={"minutes": minutes})
    text = _("timed the drive %(drive)s: %(minutes)d minutes") % {"drive": drive, "minutes": minutes}
    record(by=by, now=now, verb="drive-timed", text=text, subject=drive)
    rechain_visits_at(property=end, now=now)
    return drive


@transaction.atomic
def remove_drive(*, drive: TimedDrive, by: Actor, now: datetime) -> None:
    """The estimate holds again."""
    record(by=by, now=now, verb="drive-removed", text=_("took back the timed drive %s") % drive, subject=drive)
    end = drive.end
    drive.delete()
    rechain_visits_at(property=end, now=now)


@transaction.atomic
def change_rules(*, fields: dict[str, Any], by: Actor, now: datetime) -> DiaryRules:
    """Set the given figures; when the driving is reckoned otherwise, all coming visits are."""
    rules, _made = DiaryRules.objects.select_for_update().get_or_create(pk=1)
    changed = [name for name, value in fields.items() if getattr(rules, name) != value]
    for name in changed:
        setattr(rules, name, fields[name])
    if changed:
        rules.save(update_fields=changed)
        text = _("changed the rules of the diary: %s") % ", ".join(changed)
        record(by=by, now=now, verb="diary-rules-changed", text=text, subject=rules)
    if DRIVING.intersection(changed):
        rechain_coming(now=now)
    return rules


@transaction.atomic
def follow_the_office(now: datetime) -> bool:
    """Reckon the coming drives anew once the office has moved, or has said for the first time where it is."""
    office = Office.the()
    rules, _made = DiaryRules.objects.select_for_update().get_or_create(pk=1)
    if (rules.reckoned_latitude, rules.reckoned_longitude) == (office.latitude, office.longitude):
        return False
    rules.reckoned_latitude, rules.reckoned_longitude = office.latitude, office.longitude
    rules.save(update_fields=["reckoned_latitude", "reckoned_longitude"])
    rechain_coming(now=now)
    return True
