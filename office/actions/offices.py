"""Changing the office's own details."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from office.models import Office

from .actors import Actor
from .events import record


@transaction.atomic
def change_office(*, fields: dict[str, Any], by: Actor, now: datetime) -> Office:
    """Set the given details; the log names which."""
    office = Office.objects.select_for_update().get(pk=Office.the().pk)
    changed = [name for name, value in fields.items() if getattr(office, name) != value]
    for name in changed:
        setattr(office, name, fields[name])
    if changed:
        office.save(update_fields=changed)
        text = _("changed the office: %s") % ", ".join(changed)
        record(by=by, now=now, verb="office-changed", text=text, subject=office)
    return office
