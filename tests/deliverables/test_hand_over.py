"""Handing over: refused while something is missing, replaced by the next, released by rule, with receipts."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from billing.models import Invoice, InvoiceState
from deliverables.actions.bundles import hand_over, make_bundle, remove_item, withdraw_bundle
from deliverables.actions.receipts import approve_bundle, note_collected, note_opened
from deliverables.actions.release import release_of
from deliverables.models import Bundle, BundleState, ReceiptKind
from office.actions.actors import Actor
from office.actions.links import make_link
from office.errors import Refused, WrongState
from office.models import CapabilityLink, Event, Notice, NoticeState, Purpose
from tests.cast import NOW


@pytest.fixture
def by_client(handed_over):
    return Actor.of_link(CapabilityLink.objects.get(purpose=Purpose.HANDOVER))


@pytest.fixture
def by_stranger(handed_over, by_owner):
    """The holder of a link to another handover."""
    holder = {"holder_name": "X", "holder_email": "x@x.example"}
    other = handed_over.shoot_id + 1
    return Actor.of_link(make_link(purpose=Purpose.HANDOVER, subject_id=other, **holder, by=by_owner, now=NOW))


def test_the_client_gets_a_link_and_a_mail(handed_over, shoot):
    assert (handed_over.state, handed_over.handed_over_at) == (BundleState.HANDED_OVER, NOW)
    link = CapabilityLink.objects.get(purpose=Purpose.HANDOVER)
    assert (link.subject_id, link.holder_email) == (shoot.pk, "odile@marchettihomes.example")
    notice = Notice.objects.get(key=f"handover:{handed_over.pk}:")
    assert notice.subject == "Ready: 27 Alder Rise"
    assert "- Floor plan, unbranded" in notice.text
    assert "Here it is." in notice.text


def test_every_files_checksum_stands_in_the_log(handed_over, draft):
    event = Event.objects.of_subject(handed_over).get(verb="handed-over")
    assert event.details["files"]["S-2027-0001-P-2027-0001-plan.png"] == draft.sha256


def test_an_incomplete_bundle_is_refused_with_what_is_missing(bundle, blocking_task, by_owner):
    with pytest.raises(Refused, match="editing task") as refusal:
        hand_over(bundle=bundle, by=by_owner, now=NOW)
    assert refusal.value.field == "override"
    bundle.refresh_from_db()
    assert bundle.state == BundleState.BEING_MADE
    assert not Notice.objects.filter(key__startswith="handover").exists()


def test_the_owner_may_override_with_a_reason_that_is_kept(bundle, blocking_task, by_owner):
    given = hand_over(bundle=bundle, by=by_owner, now=NOW, override="The client wants it now.")
    assert given.override_why == "The client wants it now."
    event = Event.objects.of_subject(given).get(verb="handed-over")
    assert "The client wants it now." in event.text
    assert event.details["gaps"] == ["1 editing task that must be done is open."]


def test_a_reason_of_blanks_is_none(bundle, blocking_task, by_owner):
    with pytest.raises(Refused):
        hand_over(bundle=bundle, by=by_owner, now=NOW, override="   ")


def test_a_reason_is_not_kept_where_nothing_was_missing(bundle, by_owner):
    assert hand_over(bundle=bundle, by=by_owner, now=NOW, override="just because").override_why == ""


def test_an_empty_bundle_never_leaves(bundle, by_owner):
    for item in bundle.items.all():
        remove_item(item=item, by=by_owner, now=NOW)
    with pytest.raises(Refused, match="empty"):
        hand_over(bundle=bundle, by=by_owner, now=NOW, override="anyway")


def test_a_bundle_is_handed_over_once(handed_over, by_owner):
    with pytest.raises(WrongState):
        hand_over(bundle=handed_over, by=by_owner, now=NOW)


def test_the_next_bundle_replaces_the_first_behind_the_same_link(handed_over, shoot, by_owner):
    second = make_bundle(shoot=shoot, release_rule="at_once", message="", by=by_owner, now=NOW)
    hand_over(bundle=second, by=by_owner, now=NOW)
    handed_over.refresh_from_db()
    assert handed_over.state == BundleState.REPLACED
    assert list(Bundle.objects.handed_over()) == [second]
    assert CapabilityLink.objects.filter(purpose=Purpose.HANDOVER).count() == 1
    assert Notice.objects.get(key=f"handover:{second.pk}:").subject == "New files for 27 Alder Rise"


def test_the_database_knows_only_one_bundle_in_hand(handed_over, shoot):
    with pytest.raises(IntegrityError), transaction.atomic():
        Bundle.objects.create(shoot=shoot, number=9, made_at=NOW, state=BundleState.HANDED_OVER)


def test_withdrawing_takes_back_a_mail_that_has_not_left(handed_over, by_owner):
    withdraw_bundle(bundle=handed_over, by=by_owner, now=NOW)
    assert Notice.objects.get(key=f"handover:{handed_over.pk}:").state == NoticeState.WITHDRAWN
    assert not release_of(Bundle.objects.get()).collectable


def test_at_once_means_at_once(handed_over):
    assert release_of(handed_over).collectable


def test_on_approval_waits_for_the_clients_word(handed_over, by_client):
    handed_over.release_rule = "on_approval"
    handed_over.save()
    release = release_of(handed_over)
    assert (release.collectable, release.shows_tour) == (False, True)
    with pytest.raises(Refused, match="cannot be collected"):
        note_collected(bundle=handed_over, item=None, by=by_client, now=NOW)
    assert release_of(approve_bundle(bundle=handed_over, by=by_client, now=NOW)).collectable


def test_approval_is_said_once_and_kept_with_its_name(handed_over, by_client):
    approved = approve_bundle(bundle=handed_over, by=by_client, now=NOW)
    assert (approved.approved_at, approved.approved_by) == (NOW, "Odile Marchetti")
    with pytest.raises(WrongState):
        approve_bundle(bundle=handed_over, by=by_client, now=NOW)


def test_a_replaced_bundle_is_not_approved(handed_over, by_client):
    Bundle.objects.update(state=BundleState.REPLACED)
    with pytest.raises(WrongState):
        approve_bundle(bundle=handed_over, by=by_client, now=NOW)


def test_another_handovers_link_opens_collects_and_approves_nothing(handed_over, by_stranger):
    with pytest.raises(Refused):
        note_opened(bundle=handed_over, by=by_stranger, now=NOW)
    with pytest.raises(Refused):
        note_collected(bundle=handed_over, item=None, by=by_stranger, now=NOW)
    with pytest.raises(Refused):
        approve_bundle(bundle=handed_over, by=by_stranger, now=NOW)


def test_one_visit_is_one_receipt(handed_over, by_client):
    for minutes in (0, 10, 59, 125):
        note_opened(bundle=handed_over, by=by_client, now=NOW + timedelta(minutes=minutes))
    assert handed_over.receipts.filter(what=ReceiptKind.OPENED).count() == 2


def test_collecting_is_noted_with_who_and_when(handed_over, by_client):
    item = handed_over.items.get(kind="plan")
    note_collected(bundle=handed_over, item=item, by=by_client, now=NOW)
    receipt = handed_over.receipts.get()
    assert (receipt.what, receipt.item, receipt.by, receipt.at) == ("collected", item, "Odile Marchetti", NOW)


def make_invoice(shoot, number, **fields):
    facts = {"drawn_up_at": NOW, "due_on": NOW.date(), "currency": "USD", "net": 100, "total": 100}
    return Invoice.objects.create(shoot=shoot, client=shoot.client, number=number, **facts, **fields)


def test_on_payment_waits_until_every_invoice_is_settled(handed_over, shoot):
    Bundle.objects.update(release_rule="on_payment")
    handed_over.refresh_from_db()
    release = release_of(handed_over)
    assert (release.collectable, release.shows_tour) == (False, False)
    make_invoice(shoot, "INV-1", state=InvoiceState.SETTLED)
    second = make_invoice(shoot, "INV-2", state=InvoiceState.ISSUED)
    assert not release_of(handed_over).collectable
    Invoice.objects.filter(pk=second.pk).update(state=InvoiceState.SETTLED)
    assert release_of(handed_over).collectable
