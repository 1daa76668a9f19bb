"""Estimates of a shoot, and what they learn from visits that were captured and checked out of."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.actions.check_ins import check_in, check_out
from jobs.actions.estimates import counts_of, estimates_of, held_so_far, keep_past_visit
from jobs.actions.shoots import note_captured
from jobs.actions.walks import import_walk
from jobs.models import PastVisit, Property
from jobs.rules.estimate import trade_estimator
from office.actions.actors import Actor
from tests.cast import NOW
from tests.jobs.conftest import WALK

pytestmark = pytest.mark.django_db

ARRIVES = NOW + timedelta(days=2)


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


@pytest.fixture
def walked(confirmed, by_scanner):
    check_in(shoot=confirmed, by=by_scanner, now=ARRIVES)
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_scanner, now=ARRIVES)
    return confirmed


def leave(shoot, by, minutes):
    check_out(shoot=shoot, by=by, now=ARRIVES + timedelta(minutes=minutes))


def capture(shoot, by):
    note_captured(shoot=shoot, by=by, now=ARRIVES + timedelta(minutes=70))


@pytest.mark.parametrize("out_first", [True, False])
def test_a_visit_is_kept_once_it_is_captured_and_everybody_is_out(walked, by_scanner, out_first):
    steps = [lambda: leave(walked, by_scanner, 80), lambda: capture(walked, by_scanner)]
    for step in steps if out_first else reversed(steps):
        assert not PastVisit.objects.exists()
        step()
    past = PastVisit.objects.get()
    assert (past.minutes, past.stations, past.crew, past.covers) == (80, 6, 1, "both")
    assert (past.closets, past.baths, past.garage, past.levels) == (1, 0, False, 2)
    assert past.promised_p80 == walked.estimated_p80 > 0


def test_with_two_on_site_the_last_one_out_counts(walked, by_scanner, owner):
    walked.members.create(person=owner)
    check_in(shoot=walked, by=Actor.of_person(owner), now=ARRIVES + timedelta(minutes=5))
    leave(walked, by_scanner, 60)
    capture(walked, by_scanner)
    assert not PastVisit.objects.exists()
    leave(walked, Actor.of_person(owner), 65)
    assert (PastVisit.objects.get().minutes, PastVisit.objects.get().crew) == (65, 2)


def test_a_visit_nobody_checked_in_to_teaches_nothing(confirmed, by_scanner):
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_scanner, now=ARRIVES)
    capture(confirmed, by_scanner)
    assert keep_past_visit(shoot=confirmed) is None


def test_it_stays_as_it_was_when_the_property_changes(walked, by_scanner):
    leave(walked, by_scanner, 80)
    capture(walked, by_scanner)
    Property.objects.update(area_m2=Decimal(999))
    assert PastVisit.objects.get().area_m2 == Decimal("227.6124")


def test_slow_visits_raise_the_estimate_and_fill_the_coverage(walked, by_scanner):
    before = estimates_of(walked)
    assert (before.alone.learned_from, before.coverage.visits) == (0, 0)
    leave(walked, by_scanner, 300)
    capture(walked, by_scanner)
    after = estimates_of(walked)
    assert after.alone.minutes.p50 > before.alone.minutes.p50
    assert after.alone.learned_from == 1
    assert (held_so_far().visits, held_so_far().within) == (1, 0)


def test_without_past_visits_the_trades_figures_hold(shoot):
    found = estimates_of(shoot)
    assert found.alone.minutes.p50 > found.pair.minutes.p50
    assert found.of(2) == found.pair
    assert found.alone == trade_estimator().estimate(_visit_of(shoot))


def _visit_of(shoot):
    from jobs.rules.estimate import Visit

    counts = {"closets": 1, "baths": 0, "garage": False}
    return Visit(area_m2=shoot.property.area_m2, levels=2, package="both", crew=1, **counts)


def test_what_nobody_counted_is_taken_as_usual_and_said(house):
    counts = counts_of(house)
    assert counts.assumed == ("closets", "baths", "garage")
    # 2,450 sq ft: two and a half closets and 1.2 baths on 1,000 — common practice, no source
    assert (counts.closets, counts.baths, counts.garage) == (6, 3, False)
    house.closet_count, house.has_garage = 9, True
    counts = counts_of(house)
    assert (counts.closets, counts.baths, counts.garage, counts.assumed) == (9, 3, True, ("baths",))


def test_the_page_says_what_drives_the_number_and_how_well_past_ones_held(owner_browser, walked, by_scanner, shoot):
    leave(walked, by_scanner, 70)
    capture(walked, by_scanner)
    page = owner_browser.get(reverse("jobs:shoot-time", args=[shoot.number])).content.decode()
    assert "working alone" in page
    assert "Learned from 1 visit of our own" in page
    assert "Of 1 past visit" in page
