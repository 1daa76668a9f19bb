"""The kit list: ticked when leaving the office and again when leaving the property, so that nothing stays behind."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import KitTick, Package, Shoot, Stage
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused


@dataclass(frozen=True)
class KitLine:
    """One thing and at which of the two moments it was seen."""

    item: str
    at_office: bool
    at_property: bool

    @property
    def left_behind(self) -> bool:
        """It went out and has not been seen again."""
        return self.at_office and not self.at_property


def kit_of(shoot: Shoot) -> list[KitLine]:
    """The package's list, and whatever else was ticked before the list was changed."""
    ticks = {(tick.stage, tick.item) for tick in shoot.kit_ticks.order_by("pk")}
    items = dict.fromkeys([*shoot.package.kit_items, *sorted(item for _stage, item in ticks)])
    return [KitLine(item, (Stage.OFFICE, item) in ticks, (Stage.PROPERTY, item) in ticks) for item in items]


@transaction.atomic
def tick_kit(*, shoot: Shoot, stage: Stage, items: Collection[str], by: Actor, now: datetime) -> int:
    """What is in the bag at that moment; returns how many things of the list are not."""
    shoot = locked(shoot)
    known = [line.item for line in kit_of(shoot)]
    unknown = set(items) - set(known)
    if unknown:
        raise Refused(_("Not on the kit list: %s.") % ", ".join(sorted(unknown)))
    ticks = KitTick.objects.filter(shoot=shoot, stage=stage)
    ticks.exclude(item__in=items).delete()
    there = set(ticks.values_list("item", flat=True))
    KitTick.objects.bulk_create(
        KitTick(shoot=shoot, stage=stage, item=item, ticked_at=now, ticked_by=by.person)
        for item in known
        if item in items and item not in there
    )
    text = _("ticked %(ticked)d of %(all)d of the kit: %(stage)s") % {
        "ticked": len(set(items)), "all": len(known), "stage": str(stage.label).lower(),
    }  # fmt: skip
    record(by=by, now=now, verb="kit-ticked", text=text, subject=shoot, job=shoot.number)
    return len(known) - len(set(items))


@transaction.atomic
def set_lists(*, package: Package, kit: str, preparation: str, by: Actor, now: datetime) -> Package:
    """Change what the crew takes along and what the client is asked to prepare, for visits from now on."""
    package = Package.objects.select_for_update().get(pk=package.pk)
    package.kit, package.preparation = kit, preparation
    package.save(update_fields=["kit", "preparation"])
    text = _("changed the lists of the package %s") % package
    record(by=by, now=now, verb="lists-set", text=text, subject=package)
    return package
