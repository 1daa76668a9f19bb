"""Whether the holder of a link acts on what the link was made for."""

from django.utils.translation import gettext as _

from deliverables.models import Bundle, PlanOrder
from office.actions.actors import Actor
from office.errors import Refused
from office.models import CapabilityLink, Purpose


def refuse_stranger_to_order(plan_order: PlanOrder, by: Actor) -> None:
    """A link acts only on the orders of the drafter it was made for."""
    if by.link and not _opens(by.link, Purpose.DRAFTER, plan_order.drafter_id):
        raise Refused(_("This order is not open to your link."))


def refuse_stranger_to_bundle(bundle: Bundle, by: Actor) -> None:
    """A link acts only on the handover it was made for."""
    if by.link and not _opens(by.link, Purpose.HANDOVER, bundle.shoot_id):
        raise Refused(_("This handover is not open to your link."))


def _opens(link: CapabilityLink, purpose: Purpose, subject_id: int) -> bool:
    return (link.purpose, link.subject_id) == (purpose, subject_id)
