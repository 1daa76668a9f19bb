"""What stands between a bundle and its handover, and what would supply it."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from deliverables.models import Bundle, FixRequest, ItemKind, PlanOrder
from deliverables.models.bundle import TOURS
from jobs.models import EditingTask, Shoot

AREA_SHEET = "area_sheet"
"""The add-on's code on every rate card."""


@dataclass(frozen=True)
class Gap:
    """One thing that is missing, and where to supply it. What does not block is only said."""

    text: str
    remedy: str
    url: str
    blocks: bool = True


def gaps_of(bundle: Bundle) -> list[Gap]:
    """Everything that is missing, in the order of the work."""
    kinds = set(bundle.items.values_list("kind", flat=True))
    shoot = bundle.shoot
    return [
        *_tour_gaps(shoot, kinds),
        *_editing_gaps(shoot),
        *_plan_gaps(shoot, kinds),
        *_extra_gaps(bundle, kinds),
    ]


def _tour_gaps(shoot: Shoot, kinds: set[str]) -> Iterator[Gap]:
    if shoot.package.has_tour and not kinds & set(TOURS):
        text, remedy = _("The tour has no link."), _("Write the tour's links on the job, then gather again.")
        yield Gap(text, remedy, shoot.get_absolute_url())


def _editing_gaps(shoot: Shoot) -> Iterator[Gap]:
    blocking = EditingTask.objects.blocking(shoot).count()
    if blocking:
        text = ngettext(
            "%d editing task that must be done is open.", "%d editing tasks that must be done are open.", blocking
        )
        yield Gap(text % blocking, _("Do them and tick them off."), shoot.get_absolute_url() + "#walk")


def _plan_gaps(shoot: Shoot, kinds: set[str]) -> Iterator[Gap]:
    if not shoot.package.has_plan:
        return
    orders = list(PlanOrder.objects.filter(shoot=shoot).open())
    if ItemKind.PLAN not in kinds:
        yield _no_plan(shoot, orders)
    elif orders:
        text = _("%s is not accepted yet.") % orders[0]
        yield Gap(text, _("Accept or withdraw it."), orders[0].get_absolute_url())
    fixes = FixRequest.objects.open().filter(plan_order__shoot=shoot).select_related("plan_order")
    if fixes:
        text = ngettext("%d fix is open.", "%d fixes are open.", len(fixes)) % len(fixes)
        yield Gap(text, _("Settle or withdraw them."), fixes[0].plan_order.get_absolute_url())


def _no_plan(shoot: Shoot, orders: list[PlanOrder]) -> Gap:
    text = _("There is no accepted plan.")
    if orders:
        return Gap(text, _("Accept the draft of %s, then gather again.") % orders[0], orders[0].get_absolute_url())
    if shoot.plan_orders.accepted().exists():
        return Gap(
            text, _("Gather again: a plan has been accepted."), reverse("deliverables:bundle-make", args=[shoot.number])
        )
    return Gap(
        text, _("Order a plan, or add your own as a file."), reverse("deliverables:plan-order-new", args=[shoot.number])
    )


def _extra_gaps(bundle: Bundle, kinds: set[str]) -> Iterator[Gap]:
    ordered = bundle.shoot.add_ons.filter(add_on__code=AREA_SHEET).exists()
    if ordered and ItemKind.AREA_SHEET not in kinds:
        text, remedy = _("An area sheet was ordered and is not here."), _("Add it as a file.")
        yield Gap(text, remedy, bundle.get_absolute_url() + "#add", blocks=False)
