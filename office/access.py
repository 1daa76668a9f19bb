"""Who may open what: one table from page name to visitors. A page that is not listed opens for nobody."""

from enum import StrEnum

from django.http import HttpRequest

from office.models import CapabilityLink, Purpose


class Visitor(StrEnum):
    OWNER = "owner"
    SCANNER = "scanner"
    DRAFTER = "drafter"
    CLIENT = "client"
    STRANGER = "stranger"


OWNER = frozenset({Visitor.OWNER})
STAFF = frozenset({Visitor.OWNER, Visitor.SCANNER})
DRAFTER = frozenset({Visitor.DRAFTER})
CLIENT = frozenset({Visitor.CLIENT})
ANYONE = frozenset(Visitor)

VISITOR_BY_LINK = {
    Purpose.DRAFTER: Visitor.DRAFTER,
    Purpose.QUOTE: Visitor.CLIENT,
    Purpose.HANDOVER: Visitor.CLIENT,
    Purpose.INVOICE: Visitor.CLIENT,
}

TABLE: dict[str, frozenset[Visitor]] = {
    # Ground floor
    "office:desk": STAFF,
    "office:open-link": ANYONE,
    "office:robots": ANYONE,
    "office:settings": OWNER,
    "office:people": OWNER,
    "office:person-new": OWNER,
    "office:person": OWNER,
    "office:events": OWNER,
    "office:notices": OWNER,
    "office:notice": OWNER,
    "office:notice-settle": OWNER,
    "office:link-revoke": OWNER,
    "office:healthz": ANYONE,
    "office:readyz": ANYONE,
    # Sign-in
    "account_login": ANYONE,
    "account_logout": ANYONE,
    "account_signup": ANYONE,
    "account_inactive": ANYONE,
    "account_reauthenticate": STAFF,
    "account_change_password": STAFF,
    "account_set_password": STAFF,
    "account_email": STAFF,
    "account_reset_password": ANYONE,
    "account_reset_password_done": ANYONE,
    "account_reset_password_from_key": ANYONE,
    "account_reset_password_from_key_done": ANYONE,
    "mfa_authenticate": ANYONE,
    "mfa_index": STAFF,
    "mfa_activate_totp": STAFF,
    "mfa_deactivate_totp": STAFF,
    "mfa_reauthenticate": STAFF,
    "mfa_view_recovery_codes": STAFF,
    "mfa_download_recovery_codes": STAFF,
    "mfa_generate_recovery_codes": STAFF,
}


def visitors(request: HttpRequest) -> frozenset[Visitor]:
    """Everything this request's sender is at once: signed-in role, and what their links make them."""
    found = {VISITOR_BY_LINK[Purpose(link.purpose)] for link in request.links}
    if request.user.is_authenticated:
        found.add(Visitor(request.user.role))
    return frozenset(found or {Visitor.STRANGER})


def may_open(view_name: str, who: frozenset[Visitor]) -> bool:
    """Whether any of what the sender is opens this page."""
    allowed = TABLE.get(view_name, frozenset())
    return allowed == ANYONE or bool(allowed & who)


def link_to(request: HttpRequest, purpose: Purpose, subject_id: int) -> CapabilityLink | None:
    """The open link by which this sender may see this one subject."""
    return next((link for link in request.links if (link.purpose, link.subject_id) == (purpose, subject_id)), None)
