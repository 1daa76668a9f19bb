"""The public order page: a price while typing, an order without an account. The owner opens and closes it."""

from collections.abc import Callable
from datetime import datetime
from functools import wraps

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST
from django_ratelimit.decorators import ratelimit

from billing.actions.orders import place_order, public_price
from billing.actions.public_offer import PublicOffer, public_offer
from billing.forms.order import HouseForm, OrderForm
from office.actions.actors import VISITOR
from office.actions.once import once
from office.errors import AlreadyDone, Refused
from office.views.acting import say

View = Callable[..., HttpResponse]


def while_open(view: View) -> View:
    """Closed by the owner, or with nothing that today's card prices, the page is not there."""

    @wraps(view)
    def guarded(request: HttpRequest) -> HttpResponse:
        offer = _offer(request, timezone.now()) if request.office.order_page_open else None
        if offer is None or not offer.packages:
            return render(request, "billing/order_closed.html", status=404)
        return view(request, offer)

    return guarded


@never_cache
@ratelimit(key="ip", rate="10/h", method="POST", block=False)
@while_open
def order(request: HttpRequest, offer: PublicOffer) -> HttpResponse:
    """The house with its price, then who orders."""
    form = OrderForm(request.POST or None, offer=offer, initial={"area_unit": request.office.area_unit})
    if request.method == "POST" and request.limited:
        form.add_error(None, _("Too many orders came from your network within the hour. Please call us."))
        return render(request, "billing/order.html", {"form": form}, status=429)
    if form.is_valid() and _taken(request, form):
        return redirect("billing:order-thanks")
    return render(request, "billing/order.html", {"form": form})


@require_POST
@ratelimit(key="ip", rate="240/m", block=False)
@while_open
def order_price(request: HttpRequest, offer: PublicOffer) -> HttpResponse:
    """The price of what is typed so far."""
    if request.limited:
        return HttpResponse(status=429)
    form = HouseForm(request.POST, offer=offer)
    price = public_price(request.office, offer, form.wanted(), timezone.now()) if form.is_valid() else None
    return render(request, "billing/order_price.html", {"price": price})


@while_open
def order_thanks(request: HttpRequest, offer: PublicOffer) -> HttpResponse:
    return render(request, "billing/order_thanks.html")


def _taken(request: HttpRequest, form: OrderForm) -> bool:
    """Place the order. What a program typed into the unseen field is dropped without a word."""
    if form.cleaned_data["website"]:
        return True
    try:
        with once(request):
            shoot = place_order(**form.order(), by=VISITOR, now=timezone.now())
    except AlreadyDone:
        return True
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)
        return False
    say(request, _("Your order has the number %s.") % shoot.number)
    return True


def _offer(request: HttpRequest, now: datetime) -> PublicOffer | None:
    return public_offer(request.office.day_of(now))
