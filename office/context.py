"""What every page knows: the office, its main pages, and who looks."""

from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from office.access import may_open, visitors

MAIN_PAGES = [
    ("office:desk", _("Desk")),
    ("jobs:diary", _("Diary")),
    ("jobs:field-home", _("Field")),
    ("jobs:shoots", _("Shoots")),
    ("jobs:clients", _("Clients")),
    ("jobs:properties", _("Properties")),
    ("deliverables:plan-room", _("Plan room")),
    ("deliverables:handovers", _("Handovers")),
    ("billing:ledger", _("Ledger")),
    ("billing:rate-cards", _("Rate cards")),
    ("office:settings", _("Settings")),
]


def office(request: HttpRequest) -> dict[str, Any]:
    if not hasattr(request, "links"):
        return {}
    who = visitors(request)
    return {
        "office": request.office,
        "main_pages": [page for page in MAIN_PAGES if may_open(page[0], who)] if request.user.is_authenticated else [],
    }
