"""The office's taxes: rows with days, one percent a day each."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from billing.actions.taxes import add_tax_rate, change_tax_rate
from billing.models import TaxRate
from office.errors import Refused
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db


def fields(percent="8", start=date(2027, 7, 1), end=None, name="Sales tax"):
    return {"name": name, "percent": Decimal(percent), "starts_on": start, "ends_on": end}


def on(day):
    return [str(rate) for rate in TaxRate.objects.on(day)]


def test_a_rate_holds_from_its_first_to_its_last_day(office, by_owner):
    add_tax_rate(fields=fields(start=date(2027, 1, 1), end=date(2027, 6, 30)), by=by_owner, now=NOW)
    assert [on(date(2026, 12, 31)), on(date(2027, 1, 1)), on(date(2027, 6, 30)), on(date(2027, 7, 1))] == [
        [], ["Sales tax 8 %"], ["Sales tax 8 %"], [],
    ]  # fmt: skip
    assert Event.objects.get(verb="tax-added").text == "added the tax Sales tax 8 %"


@pytest.mark.parametrize(
    ("start", "end"),
    [
        (date(2027, 6, 30), None),
        (date(2027, 1, 1), None),
        (date(2025, 1, 1), date(2026, 1, 1)),
        (date(2027, 3, 1), date(2027, 3, 1)),
    ],
)
def test_two_rates_of_one_name_never_hold_on_one_day(sales_tax, by_owner, start, end):
    sales_tax.ends_on = date(2027, 6, 30)
    sales_tax.save()
    with pytest.raises(Refused) as refusal:
        add_tax_rate(fields=fields(start=start, end=end), by=by_owner, now=NOW)
    assert refusal.value.field == "starts_on"


def test_the_next_rate_begins_the_day_after(sales_tax, by_owner):
    ended = {"name": "Sales tax", "percent": sales_tax.percent, "starts_on": sales_tax.starts_on}
    change_tax_rate(rate=sales_tax, fields={**ended, "ends_on": date(2027, 6, 30)}, by=by_owner, now=NOW)
    add_tax_rate(fields=fields(), by=by_owner, now=NOW)
    assert on(date(2027, 6, 30)) == ["Sales tax 7.25 %"]
    assert on(date(2027, 7, 1)) == ["Sales tax 8 %"]


def test_two_taxes_of_different_names_hold_together(sales_tax, by_owner):
    add_tax_rate(fields=fields(name="City tax", percent="1"), by=by_owner, now=NOW)
    assert len(on(date(2027, 8, 1))) == 2


def test_a_rate_does_not_end_before_it_begins(office, by_owner):
    with pytest.raises(Refused) as refusal:
        add_tax_rate(fields=fields(end=date(2027, 6, 30)), by=by_owner, now=NOW)
    assert refusal.value.field == "ends_on"


def test_on_the_page_a_rate_is_added_and_changed_with_its_caution(owner_browser, office):
    typed = {"name": "VAT", "percent": "20", "starts_on": "2027-01-01", "once": str(uuid4())}
    page = owner_browser.post(reverse("billing:tax-rate-new"), typed, follow=True).content.decode()
    assert "Ask an accountant" in page
    assert "VAT" in page
    rate = TaxRate.objects.get()
    typed |= {"percent": "21.5", "once": str(uuid4())}
    owner_browser.post(reverse("billing:tax-rate", args=[rate.pk]), typed)
    rate.refresh_from_db()
    assert rate.percent == Decimal("21.5")


@pytest.mark.parametrize(
    ("percent", "said"), [("-1", "greater than or equal to 0"), ("100.01", "less than or equal"), ("x", "number")]
)
def test_a_wrong_percent_stands_beside_its_field(owner_browser, office, percent, said):
    typed = {"name": "VAT", "percent": percent, "starts_on": "2027-01-01", "once": str(uuid4())}
    page = owner_browser.post(reverse("billing:tax-rate-new"), typed).content.decode()
    assert said in page
    assert not TaxRate.objects.exists()
