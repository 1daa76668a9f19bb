"""Bundles: gathered from the job, completed by hand, handed over, replaced, withdrawn."""

from datetime import datetime

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from deliverables.models import Bundle, BundleItem, BundleState, ItemKind, ReleaseRule
from jobs.models import Shoot
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.links import open_link_to
from office.actions.notices import withdraw_notices
from office.actions.states import locked, move
from office.errors import Refused, WrongState
from office.models import Purpose

from .gaps import gaps_of
from .intake import take_file
from .mails import tell_client_of_handover
from .recipe import gathered_items, unused_name


@transaction.atomic
def make_bundle(*, shoot: Shoot, release_rule: str, message: str, by: Actor, now: datetime) -> Bundle:
    """Gather what the job has into the bundle in the making, or into a new one; what was added by hand stays."""
    shoot = locked(shoot)
    bundle = shoot.bundles.filter(state=BundleState.BEING_MADE).first()
    if bundle is None:
        last = shoot.bundles.aggregate(last=Max("number"))["last"] or 0
        bundle = Bundle(shoot=shoot, number=last + 1, made_at=now)
    bundle.release_rule, bundle.message = ReleaseRule(release_rule), message
    bundle.save()
    bundle.items.filter(gathered=True).delete()
    for item in gathered_items(bundle):
        item.file_name = unused_name(bundle, item.file_name) if item.file else ""
        item.save(force_insert=True)
    text = _("gathered %s") % bundle
    record(by=by, now=now, verb="bundle-made", text=text, subject=bundle, job=shoot.number)
    return bundle


@transaction.atomic
def add_file(*, bundle: Bundle, kind: str, title: str, upload: UploadedFile, by: Actor, now: datetime) -> BundleItem:
    """Put one more file into a bundle in the making."""
    bundle = _in_the_making(bundle)
    taken = take_file(upload)
    item = BundleItem(
        bundle=bundle,
        position=_last_position(bundle) + 1,
        kind=ItemKind(kind),
        title=title,
        file_name=unused_name(bundle, taken.name),
        content_type=taken.content_type,
        size=taken.size,
        sha256=taken.sha256,
    )
    item.file.save("item", upload, save=False)
    item.save(force_insert=True)
    _record_item(bundle, item, "item-added", _("put “%s” into the bundle"), by, now)
    return item


@transaction.atomic
def add_link(*, bundle: Bundle, kind: str, title: str, url: str, by: Actor, now: datetime) -> BundleItem:
    """Put one more link into a bundle in the making."""
    bundle = _in_the_making(bundle)
    item = BundleItem.objects.create(
        bundle=bundle, position=_last_position(bundle) + 1, kind=ItemKind(kind), title=title, url=url
    )
    _record_item(bundle, item, "item-added", _("put “%s” into the bundle"), by, now)
    return item


@transaction.atomic
def remove_item(*, item: BundleItem, by: Actor, now: datetime) -> None:
    """Take something out of a bundle in the making. A file that was added for it goes; a draft's stays."""
    bundle = _in_the_making(item.bundle)
    _record_item(bundle, item, "item-removed", _("took “%s” out of the bundle"), by, now)
    if item.file and not item.draft_id:
        storage, name = item.file.storage, item.file.name
        transaction.on_commit(lambda: storage.delete(name))
    item.delete()


@transaction.atomic
def hand_over(*, bundle: Bundle, by: Actor, now: datetime, override: str = "") -> Bundle:
    """Give the bundle to the client by link and mail; the one before it is replaced.

    Refused while something is missing, unless the owner says in `override` why it leaves all the same.
    """
    from .cover import add_cover_sheet

    shoot = locked(bundle.shoot)
    bundle = _in_the_making(bundle)
    if not bundle.items.exists():
        raise Refused(_("This bundle is empty."))
    gaps = [gap.text for gap in gaps_of(bundle) if gap.blocks]
    if gaps and not override.strip():
        raise Refused(_("Not ready: %s") % " ".join(gaps), field="override")
    before = shoot.bundles.filter(state=BundleState.HANDED_OVER).first()
    if before:
        move(before, BundleState.REPLACED)
    link = open_link_to(
        purpose=Purpose.HANDOVER, subject_id=shoot.pk, holder_name=shoot.client.name,
        holder_email=shoot.client.email, by=by, now=now, job=shoot.number,
    )  # fmt: skip
    move(bundle, BundleState.HANDED_OVER, handed_over_at=now, override_why=override.strip() if gaps else "")
    add_cover_sheet(bundle=bundle, open_until=link.expires_at, now=now)
    _record_handover(bundle, gaps, by, now)
    tell_client_of_handover(bundle=bundle, link=link, replaces=before is not None, now=now)
    return bundle


def _record_handover(bundle: Bundle, gaps: list[str], by: Actor, now: datetime) -> None:
    text = _("handed over %s") % bundle
    if gaps:
        text = _("%(text)s although incomplete: %(why)s") % {"text": text, "why": bundle.override_why}
    record(
        by=by, now=now, verb="handed-over", text=text, subject=bundle, job=bundle.shoot.number, gaps=gaps,
        files={item.file_name: item.sha256 for item in bundle.items.files()},
    )  # fmt: skip


@transaction.atomic
def withdraw_bundle(*, bundle: Bundle, by: Actor, now: datetime) -> Bundle:
    """Take the bundle back: what the client has collected stays theirs, nothing more can be."""
    bundle = move(locked(bundle), BundleState.WITHDRAWN)
    withdraw_notices(key_prefix=f"handover:{bundle.pk}:")
    text = _("withdrew %s") % bundle
    record(by=by, now=now, verb="bundle-withdrawn", text=text, subject=bundle, job=bundle.shoot.number)
    return bundle


def _in_the_making(bundle: Bundle) -> Bundle:
    bundle = locked(bundle)
    if bundle.state != BundleState.BEING_MADE:
        raise WrongState(_("%s is no longer being made. Make the next one.") % bundle)
    return bundle


def _last_position(bundle: Bundle) -> int:
    return bundle.items.aggregate(last=Max("position"))["last"] or 0


def _record_item(bundle: Bundle, item: BundleItem, verb: str, text: str, by: Actor, now: datetime) -> None:
    record(by=by, now=now, verb=verb, text=text % item, subject=bundle, job=bundle.shoot.number)
