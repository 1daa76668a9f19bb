"""Offering a quote: priced under the card in force, frozen, mailed with its link."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.core import mail
from django.db import IntegrityError, transaction

from billing.actions.quotes import offer_quote, withdraw_quote
from billing.models import CardPackage, Quote, QuoteState, RateCard, TaxRate
from billing.rules.card import job_from_json
from jobs.actions.clients import change_client
from jobs.actions.shoots import cancel_shoot, set_time
from jobs.models import Shoot
from office.actions.links import token_of
from office.actions.notices import send_waiting
from office.errors import Refused, WrongState
from office.models import CapabilityLink, Event, Purpose
from tests.billing.conftest import make_rate_card
from tests.cast import NOW, visit

pytestmark = pytest.mark.django_db


def amounts(quote):
    return {line.code: line.amount for line in quote.lines.all()}


def test_the_price_is_that_of_the_card_line_by_line(offered):
    lines = amounts(offered)
    assert lines["package"] == 180
    assert lines["area"] == Decimal("57.00")
    assert lines["levels"] == 50
    assert lines["exterior"] == 60
    assert (offered.net, offered.total) == (Decimal("347.00"), Decimal("372.16"))
    assert sum(lines.values()) == offered.net
    (tax,) = offered.taxes.all()
    assert (tax.name, tax.percent, tax.base, tax.amount) == (
        "Sales tax", Decimal("7.25"), Decimal("347.00"), Decimal("25.16"),
    )  # fmt: skip


def test_lines_name_package_and_add_ons_as_the_office_does(offered):
    assert [line.text for line in offered.lines.all()] == [
        "Tour and floor plan", "Area over 1,500 sq ft", "Further levels", "Exterior pass", "Travel",
    ]  # fmt: skip


def test_an_unknown_distance_is_said_in_the_line_of_travel(offered):
    line = offered.lines.get(code="travel")
    assert line.amount == 0
    assert line.why == "Distance not known yet, reckoned as 0 km"
    assert any("distance is not known" in caution for caution in offered.cautions)


def test_a_known_distance_is_road_kilometres_from_the_office(shoot, rate_card, office, by_owner):
    office.latitude, office.longitude = Decimal("41.600000"), Decimal("-93.010000")
    office.save()
    quote = offer_quote(shoot=shoot, by=by_owner, now=NOW)
    job = job_from_json(quote.ordered)
    # 0.6° of longitude at 41.6° north is 50.0 km along the ellipsoid; times 1.30, the road factor
    assert job.distance_km == Decimal("65.0")
    assert quote.lines.get(code="travel").amount == Decimal("39.50")
    assert not any("distance" in caution for caution in quote.cautions)


def test_without_a_time_neither_weekend_nor_short_notice_is_charged_and_it_says_so(offered):
    assert {"weekend", "short_notice"}.isdisjoint(amounts(offered))
    assert any("No time is set yet" in caution for caution in offered.cautions)


@pytest.mark.parametrize(
    ("hours", "percent"), [(Decimal("23.99"), 25), (24, 10), (Decimal("47.99"), 10), (48, 0)]
)  # fmt: skip
def test_notice_is_the_hours_from_now_to_the_visit(shoot, rate_card, scanner, by_owner, hours, percent):
    starts_at = NOW + timedelta(hours=float(hours))
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(starts_at))
    quote = offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert amounts(quote).get("short_notice", 0) == Decimal("347.00") * percent / 100


def test_the_weekend_is_that_of_the_property(shoot, rate_card, scanner, by_owner, house):
    """Saturday 04:00 UTC is Friday evening in Chicago and Saturday afternoon in Sydney."""
    saturday = datetime(2027, 3, 6, 4, 0, tzinfo=UTC)
    set_time(shoot=shoot, crew=[scanner], by=by_owner, now=NOW, **visit(saturday))
    here = offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert "weekend" not in amounts(here)
    withdraw_quote(quote=here, by=by_owner, now=NOW)
    house.zone = "Australia/Sydney"
    house.save()
    there = offer_quote(shoot=Shoot.objects.get(pk=shoot.pk), by=by_owner, now=NOW)
    assert amounts(there)["weekend"] == Decimal("52.05")


def test_the_volume_discount_counts_the_client_s_visits_of_the_last_90_days(
    client_of_office, house, package, shoot, rate_card, by_owner
):
    def earlier(days, state):
        starts_at = NOW - timedelta(days=days)
        return Shoot(
            number=f"S-{days}-{state}", client=client_of_office, property=house, package=package, state=state,
            ordered_at=NOW, starts_at=starts_at, window_end=starts_at, ends_at=starts_at + timedelta(hours=1),
        )  # fmt: skip

    Shoot.objects.bulk_create(
        [earlier(days, "closed") for days in (1, 30, 60, 90)] + [earlier(91, "closed"), earlier(5, "cancelled")]
    )
    four = offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert "volume" not in amounts(four)
    withdraw_quote(quote=four, by=by_owner, now=NOW)
    earlier(2, "captured").save()
    five = offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert amounts(five)["volume"] == Decimal("-17.35")


def test_the_client_s_own_card_goes_first(shoot, rate_card, package, exterior, client_of_office, by_owner):
    own = make_rate_card(package, exterior, number=4, client=client_of_office)
    CardPackage.objects.filter(card=own).update(base=150)
    make_rate_card(package, exterior, number=5, starts_on=date(2027, 2, 1))
    assert offer_quote(shoot=shoot, by=by_owner, now=NOW).card == own


def test_the_card_is_chosen_by_the_office_s_local_date(shoot, rate_card, package, exterior, by_owner):
    make_rate_card(package, exterior, number=4, starts_on=date(2027, 3, 2))
    last_evening = datetime(2027, 3, 2, 5, 59, tzinfo=UTC)
    first = offer_quote(shoot=shoot, by=by_owner, now=last_evening)
    assert first.card.number == 3
    withdraw_quote(quote=first, by=by_owner, now=last_evening)
    assert offer_quote(shoot=shoot, by=by_owner, now=last_evening + timedelta(minutes=1)).card.number == 4


def test_taxes_are_those_of_the_day(shoot, rate_card, sales_tax, by_owner):
    sales_tax.ends_on = date(2027, 2, 28)
    sales_tax.save()
    TaxRate.objects.create(name="Sales tax", percent=8, starts_on=date(2027, 3, 1))
    assert offer_quote(shoot=shoot, by=by_owner, now=NOW).taxes.get().percent == 8


def test_the_card_is_frozen_by_its_first_quote(offered, rate_card, shoot, by_owner):
    rate_card.refresh_from_db()
    assert rate_card.frozen_at == NOW
    withdraw_quote(quote=offered, by=by_owner, now=NOW)
    offer_quote(shoot=shoot, by=by_owner, now=NOW + timedelta(hours=1))
    rate_card.refresh_from_db()
    assert rate_card.frozen_at == NOW


def test_the_buyer_stays_as_it_was(offered, client_of_office, by_owner):
    change_client(client=client_of_office, fields={"company": "Other Homes"}, by=by_owner, now=NOW)
    offered.refresh_from_db()
    assert offered.buyer["name"] == "Marchetti Homes"
    assert offered.seller["name"] == "Lantern Street Scans"
    assert "Free to move" in offered.terms


def test_it_stands_for_the_office_s_days_but_not_beyond_the_visit(offered, timed, by_owner):
    assert offered.valid_until == NOW + timedelta(days=14)
    withdraw_quote(quote=offered, by=by_owner, now=NOW)
    assert offer_quote(shoot=timed, by=by_owner, now=NOW).valid_until == timed.starts_at


def test_the_pencilled_shoot_is_held_for_the_offer_and_the_usual_span_after_it(offered, shoot):
    shoot.refresh_from_db()
    assert shoot.hold_until == NOW + timedelta(days=14, hours=48)


def test_the_client_is_mailed_the_offer_with_a_link_of_their_own(offered):
    send_waiting(now=NOW)
    (sent,) = mail.outbox
    link = CapabilityLink.objects.get(purpose=Purpose.QUOTE, subject_id=offered.pk)
    assert sent.subject == "Quote Q-2027-0001 for 27 Alder Rise"
    assert "Total $372.16, valid until Mon, Mar 15, 2027, 10:00" in sent.body
    for text in (sent.body, sent.alternatives[0].content):
        assert f"/open/{token_of(link.key)}/" in text
        assert "Areas are approximate" in text
    assert link.expires_at > offered.valid_until


def test_the_history_says_who_offered_what(offered, shoot):
    event = Event.objects.of_job(shoot.number).get(verb="quote-offered")
    assert (event.actor_name, event.text) == ("Maren Quist", "offered Q-2027-0001")
    assert event.details == {"total": "372.16"}


def test_a_second_offer_needs_the_first_withdrawn(offered, shoot, by_owner):
    with pytest.raises(Refused, match="Q-2027-0001 is offered; withdraw it"):
        offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert Quote.objects.count() == 1


def test_the_database_too_keeps_to_one_standing_quote(offered):
    offered.pk, offered.number = None, "Q-2027-0099"
    with pytest.raises(IntegrityError), transaction.atomic():
        offered.save(force_insert=True)


def test_a_cancelled_shoot_is_not_quoted(shoot, rate_card, by_owner):
    cancelled = cancel_shoot(shoot=shoot, why="sold", by=by_owner, now=NOW)
    with pytest.raises(WrongState, match="cancelled"):
        offer_quote(shoot=cancelled, by=by_owner, now=NOW)


def test_without_a_card_in_force_it_says_what_to_do(shoot, by_owner):
    with pytest.raises(Refused, match="No rate card is in force"):
        offer_quote(shoot=shoot, by=by_owner, now=NOW)


def test_what_the_card_has_no_price_for_is_named_and_nothing_is_frozen(shoot, rate_card, by_owner):
    rate_card.add_ons.all().delete()
    with pytest.raises(Refused, match=r"Rate card 3 has no price for this\. add_ons\[0\]\.code"):
        offer_quote(shoot=shoot, by=by_owner, now=NOW)
    assert RateCard.objects.get().frozen_at is None
    assert not Quote.objects.filter(state=QuoteState.OFFERED).exists()
