"""What the client does with a bundle: the proof that it was given."""

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from deliverables.models import Bundle, BundleItem, BundleState, Receipt, ReceiptKind
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused, WrongState

from .holders import refuse_stranger_to_bundle
from .release import release_of

ONE_VISIT = timedelta(hours=1)


@transaction.atomic
def note_opened(*, bundle: Bundle, by: Actor, now: datetime) -> None:
    """One receipt a visit, however often the page is loaded."""
    refuse_stranger_to_bundle(bundle, by)
    seen = Receipt.objects.filter(bundle=bundle, what=ReceiptKind.OPENED, by=by.name, at__gt=now - ONE_VISIT)
    if not seen.exists():
        _note(bundle, ReceiptKind.OPENED, _("opened the handover"), by, now)


@transaction.atomic
def note_collected(*, bundle: Bundle, item: BundleItem | None, by: Actor, now: datetime) -> None:
    """Somebody collects an item, or the whole when `item` is None; raises `Refused` while it may not leave."""
    refuse_stranger_to_bundle(bundle, by)
    if not release_of(bundle).collectable:
        raise Refused(_("This bundle cannot be collected yet."))
    what = ReceiptKind.COLLECTED if item else ReceiptKind.COLLECTED_ALL
    text = _("collected %s") % item if item else _("collected everything")
    _note(bundle, what, text, by, now, item)


@transaction.atomic
def approve_bundle(*, bundle: Bundle, by: Actor, now: datetime) -> Bundle:
    """The client's word that it looks right."""
    bundle = locked(bundle)
    refuse_stranger_to_bundle(bundle, by)
    if bundle.state != BundleState.HANDED_OVER:
        raise WrongState(_("This bundle is not the one in hand any more."))
    if bundle.approved_at:
        raise WrongState(_("This bundle was approved already."))
    bundle.approved_at, bundle.approved_by = now, by.name
    bundle.save(update_fields=["approved_at", "approved_by"])
    text = _("said that %s looks right") % bundle
    record(by=by, now=now, verb="bundle-approved", text=text, subject=bundle, job=bundle.shoot.number)
    return bundle


def _note(
    bundle: Bundle, what: ReceiptKind, text: str, by: Actor, now: datetime, item: BundleItem | None = None
) -> None:
    Receipt.objects.create(bundle=bundle, item=item, what=what, by=by.name, at=now)
    record(by=by, now=now, verb=what, text=text, subject=bundle, job=bundle.shoot.number)
