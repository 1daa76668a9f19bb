"""What a bundle gathers from the job by itself."""

from collections.abc import Iterator
from itertools import count

from django.utils.translation import gettext as _

from deliverables.models import Bundle, BundleItem, ItemKind, PlanOrder
from jobs.models import Shoot

from .intake import SUFFIXES


def gathered_items(bundle: Bundle) -> list[BundleItem]:
    """By what the package covers: the tour's links, the accepted plans. Not saved."""
    items = [*_tours(bundle), *_plans(bundle)]
    for position, item in enumerate(items, 1):
        item.position, item.gathered = position, True
    return items


def _tours(bundle: Bundle) -> Iterator[BundleItem]:
    shoot = bundle.shoot
    if not shoot.package.has_tour:
        return
    for kind, url in (
        (ItemKind.TOUR_BRANDED, shoot.tour_branded_url),
        (ItemKind.TOUR_UNBRANDED, shoot.tour_unbranded_url),
    ):
        if url:
            yield BundleItem(bundle=bundle, kind=kind, title=kind.label, url=url)


def _plans(bundle: Bundle) -> Iterator[BundleItem]:
    for plan_order in accepted_plans(bundle.shoot):
        draft = plan_order.accepted_draft
        branding = _("branded") if plan_order.branded else _("unbranded")
        yield BundleItem(
            bundle=bundle,
            kind=ItemKind.PLAN,
            title=_("Floor plan, %s") % branding,
            file=draft.file.name,
            draft=draft,
            file_name=f"{bundle.shoot.number}-{plan_order.number}-plan.{SUFFIXES[draft.content_type]}",
            content_type=draft.content_type,
            size=draft.size,
            sha256=draft.sha256,
        )


def accepted_plans(shoot: Shoot) -> list[PlanOrder]:
    if not shoot.package.has_plan:
        return []
    return list(shoot.plan_orders.accepted().select_related("accepted_draft").order_by("pk"))


def unused_name(bundle: Bundle, name: str) -> str:
    """`name`, or `name (2)` and so on where the bundle has one already."""
    taken = {used.casefold() for used in bundle.items.files().values_list("file_name", flat=True)}
    stem, dot, suffix = name.rpartition(".")
    for number in count(1):
        mark = "" if number == 1 else f" ({number})"
        found = f"{stem}{mark}.{suffix}" if dot else f"{name}{mark}"
        if found.casefold() not in taken:
            return found
    raise AssertionError
