"""What the tests of quotes, invoices and payments share."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from billing.actions.quotes import accept_quote, offer_quote
from billing.models import (
    AddOnPricing,
    CardAddOn,
    CardAreaBand,
    CardPackage,
    CardShortNotice,
    CardTravel,
    CardVolume,
    RateCard,
    TaxRate,
)
from jobs.actions.shoots import pencil_shoot, set_time
from tests.cast import NOW, visit


def make_rate_card(package, add_on, **fields) -> RateCard:
    """Sales by the square foot: 180.00 with 1,500 sq ft and a level; then 0.06, from 3,000 on 0.045; 25.00 a level."""
    facts = {"number": 3, "starts_on": date(2027, 1, 1), "currency": "USD", "area_unit": "sqft"}
    figures = {"weekend_percent": 15, "minimum": Decimal("175.00"), "round_net_to": Decimal("0.01")}
    card = RateCard.objects.create(**facts | figures | fields)
    row = CardPackage.objects.create(
        card=card, package=package, base=180, includes_area=1500, includes_levels=1, per_extra_level=25
    )
    CardAreaBand.objects.create(card_package=row, up_to=3000, per_unit=Decimal("0.06"))
    CardAreaBand.objects.create(card_package=row, up_to=None, per_unit=Decimal("0.045"))
    CardAddOn.objects.create(card=card, add_on=add_on, pricing=AddOnPricing.FIXED, amount=60)
    CardTravel.objects.create(card=card, position=1, up_to_km=25, fee=0)
    CardTravel.objects.create(card=card, position=2, up_to_km=None, fee=35, per_km_beyond=Decimal("0.9"), beyond_km=60)
    CardShortNotice.objects.create(card=card, position=1, under_hours=24, percent=25)
    CardShortNotice.objects.create(card=card, position=2, under_hours=48, percent=10)
    CardVolume.objects.create(card=card, position=1, from_shoots=5, percent_off=5)
    CardVolume.objects.create(card=card, position=2, from_shoots=15, percent_off=10)
    return card


@pytest.fixture
def sales_tax(office):
    return TaxRate.objects.create(name="Sales tax", percent=Decimal("7.25"), starts_on=date(2026, 1, 1))


@pytest.fixture
def rate_card(package, exterior, sales_tax):
    return make_rate_card(package, exterior)


@pytest.fixture
def shoot(client_of_office, house, package, exterior, by_owner):
    """Pencilled, without a time: 2,450 sq ft on three levels, with an exterior pass."""
    order = {"client": client_of_office, "property": house, "package": package, "add_ons": {exterior: 1}}
    return pencil_shoot(**order, by=by_owner, now=NOW)


@pytest.fixture
def timed(shoot, scanner, by_owner):
    """With a time two days from now, a Wednesday."""
    return set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(NOW + timedelta(days=2)))


@pytest.fixture
def offered(shoot, rate_card, by_owner):
    """347.00 net, 25.16 tax, 372.16 in all."""
    return offer_quote(shoot=shoot, by=by_owner, now=NOW)


@pytest.fixture
def accepted(offered, by_owner):
    return accept_quote(quote=offered, by=by_owner, now=NOW)
