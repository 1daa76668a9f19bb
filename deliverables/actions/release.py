"""When a client may collect."""

from dataclasses import dataclass

from billing.models import Invoice
from deliverables.models import Bundle, BundleState, ReleaseRule


@dataclass(frozen=True)
class Release:
    """Whether the files may leave and, if not, what they wait for."""

    collectable: bool
    waits_for: str = ""

    @property
    def shows_tour(self) -> bool:
        """Before an approval the tour and the plan's picture can be looked at; before a payment they cannot."""
        return self.collectable or self.waits_for == ReleaseRule.ON_APPROVAL


def release_of(bundle: Bundle) -> Release:
    """What the bundle's release rule says now."""
    if bundle.state != BundleState.HANDED_OVER:
        return Release(collectable=False)
    if bundle.release_rule == ReleaseRule.ON_APPROVAL and bundle.approved_at is None:
        return Release(collectable=False, waits_for=ReleaseRule.ON_APPROVAL)
    if bundle.release_rule == ReleaseRule.ON_PAYMENT and not Invoice.objects.is_paid(bundle.shoot):
        return Release(collectable=False, waits_for=ReleaseRule.ON_PAYMENT)
    return Release(collectable=True)
