"""The client's handover: what there is, collecting it, saying that it looks right."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from deliverables.actions.receipts import approve_bundle, note_collected, note_opened
from deliverables.actions.release import release_of
from deliverables.models import Bundle, BundleItem, DraftPage
from office.access import link_to
from office.actions.actors import Actor
from office.models import CapabilityLink, Purpose
from office.views.acting import act, say
from office.views.links import link_closed

from .files import give_item, give_picture
from .ranges import begins_at_start
from .zips import give_zip

View = Callable[..., HttpResponseBase]


def for_client(view: View) -> View:
    """Opens a page to the holder of this shoot's handover link, and gives it the link and the bundle in hand.

    The link is to the shoot, so that an old one shows the newest bundle.
    """

    @wraps(view)
    @never_cache
    def opened(request: HttpRequest, shoot_id: int, *args: Any, **kwargs: Any) -> HttpResponseBase:
        link = link_to(request, Purpose.HANDOVER, shoot_id)
        if link is None:
            return link_closed(request)
        bundle = Bundle.objects.handed_over().with_names().filter(shoot=shoot_id).first()
        if bundle is None:
            return render(request, "deliverables/handover_gone.html", status=404)
        return view(request, link, bundle, *args, **kwargs)

    return opened


@for_client
@require_safe
def handover(request: HttpRequest, link: CapabilityLink, bundle: Bundle) -> HttpResponse:
    """What there is, and a receipt that it was seen."""
    if request.method == "GET":
        note_opened(bundle=bundle, by=Actor.of_link(link), now=timezone.now())
    items = list(bundle.items.select_related("draft").prefetch_related("draft__pages"))
    context = {
        "bundle": bundle,
        "shoot": bundle.shoot,
        "link": link,
        "items": items,
        "files": [item for item in items if item.file],
        "whole_size": sum(item.size for item in items),
        "release": release_of(bundle),
    }
    return render(request, "deliverables/handover.html", context)


@for_client
@require_safe
def item(request: HttpRequest, link: CapabilityLink, bundle: Bundle, pk: int) -> HttpResponseBase:
    found = get_object_or_404(bundle.items.files(), pk=pk)
    return _collect(request, link, bundle, found, lambda: give_item(request, found))


@for_client
@require_safe
def everything(request: HttpRequest, link: CapabilityLink, bundle: Bundle) -> HttpResponseBase:
    """All files as one ZIP."""
    items = list(bundle.items.files())
    name = f"{bundle.shoot.number}-bundle-{bundle.number}.zip"
    return _collect(request, link, bundle, None, lambda: give_zip(request, items, name))


def _collect(
    request: HttpRequest, link: CapabilityLink, bundle: Bundle, found: BundleItem | None,
    give: Callable[[], HttpResponseBase],
) -> HttpResponseBase:  # fmt: skip
    """Give, and write the receipt when a download begins; its continuations are not new ones."""
    if not release_of(bundle).collectable:
        messages.info(request, _("This cannot be collected yet; the page says why."))
        return redirect("deliverables:client-handover", bundle.shoot_id)
    if request.method == "GET" and begins_at_start(request):
        note_collected(bundle=bundle, item=found, by=Actor.of_link(link), now=timezone.now())
    return give()


@for_client
@require_safe
def preview(request: HttpRequest, link: CapabilityLink, bundle: Bundle, pk: int, page: int) -> HttpResponseBase:
    """A picture of a plan's page, for a client who is asked whether it looks right."""
    if not release_of(bundle).shows_tour:
        return link_closed(request)
    found = get_object_or_404(bundle.items.files(), pk=pk)
    return give_picture(get_object_or_404(DraftPage, draft=found.draft_id, number=page))


@for_client
@require_POST
def approve(request: HttpRequest, link: CapabilityLink, bundle: Bundle) -> HttpResponse:
    act(request, approve_bundle, holder=link, bundle=bundle)
    say(request, _("Thank you."))
    return redirect("deliverables:client-handover", bundle.shoot_id)
