"""The owner's pages on bundles and handovers."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from deliverables.actions.bundles import add_file, add_link, hand_over, make_bundle, remove_item, withdraw_bundle
from deliverables.actions.gaps import gaps_of
from deliverables.actions.release import release_of
from deliverables.forms.bundles import BundleForm, HandOverForm, ItemForm
from deliverables.models import Bundle, BundleItem, BundleState, waiting_for_a_bundle
from jobs.models import Shoot
from office.models import CapabilityLink, Purpose
from office.paging import page_of
from office.views.acting import act, attempt, say

from .files import give_item


def handovers(request: HttpRequest) -> HttpResponse:
    rows = Bundle.objects.with_names().with_receipts().order_by("-pk")
    context = {"page": page_of(request, rows), "ready": waiting_for_a_bundle()[:20]}
    return render(request, "deliverables/handovers.html", context)


def bundle_make(request: HttpRequest, number: str) -> HttpResponse:
    """Start a bundle for a shoot, or gather again for the one in the making."""
    shoot = get_object_or_404(Shoot.objects.select_related("property", "client", "package"), number=number)
    bundle = shoot.bundles.filter(state=BundleState.BEING_MADE).first()
    form = BundleForm(request.POST or None, instance=bundle)
    if form.is_valid():
        made = attempt(request, form, make_bundle, shoot=shoot, **form.cleaned_data)
        if made:
            say(request, _("Gathered. See what is missing and hand it over."))
            return redirect(made)
    return render(request, "deliverables/bundle_make.html", {"form": form, "shoot": shoot, "bundle": bundle})


def bundle(request: HttpRequest, pk: int) -> HttpResponse:
    return render(request, "deliverables/bundle.html", _bundle_page(_found(pk)))


def _found(pk: int) -> Bundle:
    return get_object_or_404(Bundle.objects.with_names(), pk=pk)


def _bundle_page(found: Bundle, **forms: Any) -> dict[str, Any]:
    making = found.state == BundleState.BEING_MADE
    links = CapabilityLink.objects.open(timezone.now()).to(Purpose.HANDOVER, found.shoot_id)
    return {
        "bundle": found,
        "shoot": found.shoot,
        "items": list(found.items.all()),
        "making": making,
        **_gaps(found if making else None),
        "release": release_of(found),
        "receipts": found.receipts.select_related("item")[:50],
        "link": None if making else links.first(),
        "item_form": ItemForm(),
        "hand_over_form": HandOverForm(),
        **forms,
    }


def _gaps(making: Bundle | None) -> dict[str, Any]:
    gaps = gaps_of(making) if making else []
    return {"gaps": gaps, "blocked": any(gap.blocks for gap in gaps)}


@require_POST
def item_add(request: HttpRequest, pk: int) -> HttpResponse:
    found, form = _found(pk), ItemForm(request.POST, request.FILES)
    if form.is_valid() and _add(request, form, found):
        say(request, _("Added."))
        return redirect(found)
    return render(request, "deliverables/bundle.html", _bundle_page(found, item_form=form))


def _add(request: HttpRequest, form: ItemForm, found: Bundle) -> BundleItem | None:
    data = form.cleaned_data
    what = {"bundle": found, "kind": data["kind"], "title": data["title"]}
    if data["upload"]:
        return attempt(request, form, add_file, upload=data["upload"], **what)
    return attempt(request, form, add_link, url=data["url"], **what)


@require_POST
def item_remove(request: HttpRequest, pk: int) -> HttpResponse:
    item = get_object_or_404(BundleItem.objects.select_related("bundle"), pk=pk)
    act(request, remove_item, item=item)
    say(request, _("Taken out."))
    return redirect(item.bundle)


@require_safe
def item(request: HttpRequest, pk: int) -> HttpResponseBase:
    return give_item(request, get_object_or_404(BundleItem.objects.files(), pk=pk))


@require_POST
def bundle_hand_over(request: HttpRequest, pk: int) -> HttpResponse:
    found, form = _found(pk), HandOverForm(request.POST)
    if form.is_valid() and attempt(request, form, hand_over, bundle=found, override=form.cleaned_data["override"]):
        say(request, _("Handed over. %s gets a mail with the link.") % found.shoot.client.name)
        return redirect(found)
    return render(request, "deliverables/bundle.html", _bundle_page(found, hand_over_form=form))


@require_POST
def bundle_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    found = act(request, withdraw_bundle, bundle=_found(pk))
    say(request, _("Withdrawn."))
    return redirect(found)
