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
    # First floor
    "jobs:diary": STAFF,
    "jobs:diary-day": STAFF,
    "jobs:diary-month": STAFF,
    "jobs:day-order": OWNER,
    "jobs:diary-rules": OWNER,
    "jobs:crew": OWNER,
    "jobs:crew-hours": OWNER,
    "jobs:leave-new": OWNER,
    "jobs:leave-remove": OWNER,
    "jobs:drives": OWNER,
    "jobs:drive-remove": OWNER,
    "jobs:lists": OWNER,
    "jobs:package-lists": OWNER,
    "jobs:feed": ANYONE,
    "jobs:feed-new": STAFF,
    "jobs:shoots": STAFF,
    "jobs:shoot-new": OWNER,
    "jobs:shoot": STAFF,
    "jobs:shoot-time": OWNER,
    "jobs:shoot-confirm": OWNER,
    "jobs:shoot-captured": STAFF,
    "jobs:shoot-close": OWNER,
    "jobs:shoot-cancel": OWNER,
    "jobs:shoot-no-access": STAFF,
    "jobs:door-photo": STAFF,
    "jobs:shoot-weather": OWNER,
    "jobs:shoot-goes-ahead": OWNER,
    "jobs:shoot-fee-waive": OWNER,
    "jobs:shoot-on-way": STAFF,
    "jobs:shoot-check-in": STAFF,
    "jobs:shoot-check-out": STAFF,
    "jobs:shoot-stay": STAFF,
    "jobs:shoot-kit": STAFF,
    "jobs:shoot-links": STAFF,
    "jobs:walk": STAFF,
    "jobs:walk-remove": STAFF,
    "jobs:walk-import": STAFF,
    "jobs:walk-export": STAFF,
    "jobs:entry-codes": STAFF,
    "jobs:entry-code-write": OWNER,
    "jobs:entry-code-show": STAFF,
    "jobs:entry-code-remove": OWNER,
    "jobs:field-home": STAFF,
    "jobs:field": STAFF,
    "jobs:field-shell": ANYONE,  # holds no data: what the phone keeps and opens without a signal
    "jobs:field-worker": ANYONE,
    "jobs:field-manifest": ANYONE,
    "jobs:field-visits": ANYONE,  # this and the next four answer 401 themselves, so that the phone keeps its queue
    "jobs:field-state": ANYONE,
    "jobs:field-sync": ANYONE,
    "jobs:field-photo": ANYONE,
    "jobs:field-captured": ANYONE,
    "jobs:photo": STAFF,
    "jobs:task-finish": STAFF,
    "jobs:task-reopen": STAFF,
    "jobs:task-withdraw": OWNER,
    "jobs:task-add": STAFF,
    "jobs:run-sheet": STAFF,
    "jobs:packages": OWNER,
    "jobs:package-new": OWNER,
    "jobs:package": OWNER,
    "jobs:package-task-add": OWNER,
    "jobs:package-task": OWNER,
    "jobs:package-task-remove": OWNER,
    "jobs:walk-settings": OWNER,
    "jobs:clients": OWNER,
    "jobs:client-new": OWNER,
    "jobs:client": OWNER,
    "jobs:client-edit": OWNER,
    "jobs:properties": STAFF,
    "jobs:property-new": OWNER,
    "jobs:property": STAFF,
    "jobs:property-edit": STAFF,
    "jobs:property-spaces": STAFF,
    "jobs:property-start": STAFF,
    "jobs:property-copy": STAFF,
    "jobs:property-lines": STAFF,
    "jobs:property-import": STAFF,
    "jobs:level-new": STAFF,
    "jobs:level": STAFF,
    "jobs:level-remove": STAFF,
    "jobs:space-add": STAFF,
    "jobs:space": STAFF,
    "jobs:space-remove": STAFF,
    "jobs:space-enter": STAFF,
    "jobs:opening-add": STAFF,
    "jobs:opening-remove": STAFF,
    "jobs:property-export": STAFF,
    # Second floor
    "billing:ledger": OWNER,
    "billing:quotes": OWNER,
    "billing:quote": OWNER,
    "billing:quote-offer": OWNER,
    "billing:quote-accept": OWNER,
    "billing:quote-decline": OWNER,
    "billing:quote-withdraw": OWNER,
    "billing:quote-pdf": OWNER,
    "billing:invoices": OWNER,
    "billing:invoice": OWNER,
    "billing:invoice-draw-up": OWNER,
    "billing:invoice-issue": OWNER,
    "billing:invoice-void": OWNER,
    "billing:invoice-line-add": OWNER,
    "billing:invoice-line-remove": OWNER,
    "billing:invoice-use-credit": OWNER,
    "billing:invoice-pdf": OWNER,
    "billing:payment-new": OWNER,
    "billing:rate-cards": OWNER,
    "billing:rate-card-new": OWNER,
    "billing:rate-card": OWNER,
    "billing:rate-card-edit": OWNER,
    "billing:rate-card-row": OWNER,
    "billing:rate-card-sample": OWNER,
    "billing:rate-card-next": OWNER,
    "billing:rate-card-export": OWNER,
    "billing:rate-card-import": OWNER,
    "billing:tax-rates": OWNER,
    "billing:tax-rate-new": OWNER,
    "billing:tax-rate": OWNER,
    "billing:reprice": OWNER,
    "billing:true-up-accept": OWNER,
    "billing:true-up-waive": OWNER,
    "billing:order": ANYONE,
    "billing:order-price": ANYONE,
    "billing:order-thanks": ANYONE,
    "billing:client-quote": CLIENT,
    "billing:client-quote-accept": CLIENT,
    "billing:client-quote-decline": CLIENT,
    "billing:client-quote-pdf": CLIENT,
    "billing:client-invoice": CLIENT,
    "billing:client-invoice-pdf": CLIENT,
    # Top floor
    "deliverables:plan-room": STAFF,
    "deliverables:plan-order-new": OWNER,
    "deliverables:plan-order": STAFF,
    "deliverables:plan-order-send": OWNER,
    "deliverables:plan-order-withdraw": OWNER,
    "deliverables:plan-order-accept": OWNER,
    "deliverables:plan-order-reopen": OWNER,
    "deliverables:draft-upload": OWNER,
    "deliverables:draft-file": STAFF,
    "deliverables:draft-preview": STAFF,
    "deliverables:draft-check": STAFF,
    "deliverables:fix-ask": STAFF,
    "deliverables:fixes-send": OWNER,
    "deliverables:fix-settle": OWNER,
    "deliverables:fix-ask-again": OWNER,
    "deliverables:fix-withdraw": OWNER,
    "deliverables:drafters": OWNER,
    "deliverables:drafter-new": OWNER,
    "deliverables:drafter": OWNER,
    "deliverables:drafter-link": OWNER,
    "deliverables:handovers": OWNER,
    "deliverables:bundle-make": OWNER,
    "deliverables:bundle": OWNER,
    "deliverables:bundle-item-add": OWNER,
    "deliverables:bundle-item-remove": OWNER,
    "deliverables:bundle-item": OWNER,
    "deliverables:bundle-hand-over": OWNER,
    "deliverables:bundle-withdraw": OWNER,
    "deliverables:drafter-home": DRAFTER,
    "deliverables:drafter-order": DRAFTER,
    "deliverables:drafter-upload": DRAFTER,
    "deliverables:drafter-draft": DRAFTER,
    "deliverables:drafter-preview": DRAFTER,
    "deliverables:drafter-walk": DRAFTER,
    "deliverables:drafter-fix-return": DRAFTER,
    "deliverables:client-handover": CLIENT,
    "deliverables:client-item": CLIENT,
    "deliverables:client-preview": CLIENT,
    "deliverables:client-bundle": CLIENT,
    "deliverables:client-approve": CLIENT,
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
