"""What drafters and clients are told. Written in the transaction of the action that causes it."""

from datetime import datetime
from typing import Any

from deliverables.models import Bundle, PlanOrder
from office.actions.actors import Actor
from office.actions.notices import withdraw_notices, write_notice
from office.models import CapabilityLink

from .drafters import link_of_drafter

CHASES = ("plan-due-soon", "plan-overdue", "fix-overdue")


def tell_drafter(
    *, plan_order: PlanOrder, template: str, key: str, by: Actor, now: datetime, send_after: datetime | None = None,
    **context: Any,
) -> None:  # fmt: skip
    """One mail about an order to the drafter, and the same to the second contact."""
    drafter = plan_order.drafter
    link = link_of_drafter(drafter=drafter, by=by, now=now)
    addresses = [address for address in (drafter.email, drafter.second_email) if address]
    for count, address in enumerate(addresses, 1):
        write_notice(
            key=key if count == 1 else f"{key}:{count}",
            template=template,
            to_name=drafter.contact_name or drafter.name,
            to_address=address,
            now=now,
            job=plan_order.shoot.number,
            link=link,
            send_after=send_after,
            plan_order=plan_order,
            **context,
        )


def stop_chasing(plan_order: PlanOrder) -> None:
    """What was chased has come, or is no longer wanted."""
    for kind in CHASES:
        withdraw_notices(key_prefix=f"{kind}:{plan_order.pk}:")


def tell_client_of_handover(*, bundle: Bundle, link: CapabilityLink, replaces: bool, now: datetime) -> None:
    write_notice(
        key=f"handover:{bundle.pk}:",
        template="handover_ready",
        to_name=link.holder_name,
        to_address=link.holder_email,
        now=now,
        job=bundle.shoot.number,
        link=link,
        bundle=bundle,
        items=list(bundle.items.all()),
        replaces=replaces,
    )
