"""What the client is told about the visit."""

from datetime import datetime

from jobs.models import Shoot
from office.actions.notices import write_notice


def tell_client_of_visit(*, shoot: Shoot, now: datetime) -> None:
    """The arrival window and how to prepare the house; a moved visit is told anew."""
    write_notice(
        key=f"visit:{shoot.pk}:{shoot.calendar_sequence}",
        template="visit_confirmed",
        to_name=shoot.client.name,
        to_address=shoot.client.email,
        now=now,
        job=shoot.number,
        shoot=shoot,
    )


def tell_client_visit_is_off(*, shoot: Shoot, now: datetime) -> None:
    write_notice(
        key=f"visit-off:{shoot.pk}",
        template="visit_off",
        to_name=shoot.client.name,
        to_address=shoot.client.email,
        now=now,
        job=shoot.number,
        shoot=shoot,
    )
