"""What a late change costs the client: noted on the shoot, for the invoice to take up, until the owner waives it."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import DiaryRules, Shoot, ShootState
from jobs.rules.late_fee import FeeRule, Wish, fee_for_cancelling, fee_for_moving
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused


def fee_rule() -> FeeRule:
    """The office's own."""
    rules = DiaryRules.the()
    return FeeRule(rules.free_hours, rules.late_move_percent, rules.late_cancel_percent, rules.no_access_percent)


def moving_costs(shoot: Shoot, wish: Wish, now: datetime) -> Decimal:
    """Percent of the price that moving the visit now costs; nothing before it was promised."""
    return fee_for_moving(fee_rule(), shoot.starts_at, now, wish) if _promised(shoot) else Decimal(0)


def cancelling_costs(shoot: Shoot, wish: Wish, now: datetime) -> Decimal:
    return fee_for_cancelling(fee_rule(), shoot.starts_at, now, wish) if _promised(shoot) else Decimal(0)


def charge(*, shoot: Shoot, percent: Decimal, why: str, by: Actor, now: datetime) -> None:
    """Note a fee on the shoot; of several the highest stands, since a visit is paid for once."""
    if percent <= (shoot.fee_percent or 0):
        return
    shoot.fee_percent, shoot.fee_note = percent, why
    shoot.save(update_fields=["fee_percent", "fee_note"])
    text = _("noted a fee of %(percent)s %% of the price: %(why)s") % {"percent": plain(percent), "why": why}
    record(by=by, now=now, verb="fee-noted", text=text, subject=shoot, job=shoot.number, percent=str(percent))


@transaction.atomic
def waive_fee(*, shoot: Shoot, by: Actor, now: datetime) -> Shoot:
    """The owner lets the client off."""
    shoot = locked(shoot)
    if shoot.fee_percent is None:
        raise Refused(_("There is no fee on this job."))
    text = _("waived the fee of %(percent)s %%: %(why)s") % {
        "percent": plain(shoot.fee_percent), "why": shoot.fee_note,
    }  # fmt: skip
    shoot.fee_percent, shoot.fee_note = None, ""
    shoot.save(update_fields=["fee_percent", "fee_note"])
    record(by=by, now=now, verb="fee-waived", text=text, subject=shoot, job=shoot.number)
    return shoot


def plain(percent: Decimal) -> str:
    """ "25" or "12.5", without needless zeros."""
    return f"{percent.normalize():f}"


def _promised(shoot: Shoot) -> bool:
    return shoot.state == ShootState.CONFIRMED and shoot.starts_at is not None
