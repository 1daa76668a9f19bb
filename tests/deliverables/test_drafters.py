"""Drafters and what they promise and cost."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from deliverables.actions.drafters import add_drafter, change_drafter, link_of_drafter, price_of_plan, send_link
from deliverables.actions.promises import promised, when_at_work
from office.models import CapabilityLink, Event, Notice, Purpose
from tests.cast import NOW
from tests.deliverables.conftest import make_drafter


def test_adding_and_changing_are_in_the_log(office, by_owner):
    fields = {"name": "Fairline", "email": "f@fairline.example", "zone": "Asia/Manila"}
    drafter = add_drafter(fields=fields, by=by_owner, now=NOW)
    changed = change_drafter(drafter=drafter, fields={"phone": "+63 2 555"}, by=by_owner, now=NOW)
    assert changed.phone == "+63 2 555"
    assert [event.verb for event in Event.objects.of_subject(drafter)] == ["drafter-changed", "drafter-added"]


def test_a_promise_skips_the_days_closed(drafter):
    drafter.holidays = ["2027-03-02"]
    # Monday 23:00 in Manila; Tuesday is closed, so eight hours from Wednesday 09:00.
    assert promised(drafter, NOW, Decimal(8)) == datetime(2027, 3, 3, 9, 0, tzinfo=UTC)


def test_a_promise_spans_the_clock_change_in_the_drafters_zone(office):
    # Europe/London goes to summer time on Sunday 2027-03-28 (EU rule, tz database): Monday 09:00 is 08:00Z.
    drafter = make_drafter(zone="Europe/London", hours={"fri": [["09:00", "17:00"]], "mon": [["09:00", "17:00"]]})
    friday = datetime(2027, 3, 26, 16, 0, tzinfo=UTC)
    assert promised(drafter, friday, Decimal(2)) == datetime(2027, 3, 29, 9, 0, tzinfo=UTC)


def test_at_work_means_within_the_hours(drafter):
    assert when_at_work(drafter, NOW) == datetime(2027, 3, 2, 1, 0, tzinfo=UTC)
    open_now = datetime(2027, 3, 2, 3, 0, tzinfo=UTC)
    assert when_at_work(drafter, open_now) == open_now


@pytest.mark.parametrize(
    ("fields", "price"),
    [
        ({"price_per_m2": 0, "price_per_level": 0}, "12.00"),
        ({"price_per_plan": 0, "price_per_level": 0}, "11.38"),  # 0.05 × 227.6124 = 11.38062
        ({"currency": "JPY"}, "32"),  # ISO 4217: the yen has no minor unit
    ],
)
def test_a_plans_price_is_rounded_once(office, house, fields, price):
    assert str(price_of_plan(make_drafter(**fields), house)) == price


def test_a_drafter_has_one_open_link(drafter, by_owner):
    first = link_of_drafter(drafter=drafter, by=by_owner, now=NOW)
    assert link_of_drafter(drafter=drafter, by=by_owner, now=NOW) == first
    assert (first.purpose, first.subject_id) == (Purpose.DRAFTER, drafter.pk)


def test_the_link_is_mailed_with_its_end(drafter, by_owner):
    send_link(drafter=drafter, by=by_owner, now=NOW)
    assert "Sun, May 30, 2027" in Notice.objects.get().text
    assert CapabilityLink.objects.count() == 1
