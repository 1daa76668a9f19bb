"""Errands: promised once, done once, found again when a worker died, given up in the end."""

from datetime import timedelta

import pytest
from django.utils import timezone

from office.actions.errands import LEASE, promise_errand, run_waiting
from office.models import Errand
from office.models.errand import MOST_ATTEMPTS
from office.registry import registry

pytestmark = pytest.mark.django_db


@pytest.fixture
def done(monkeypatch):
    subjects: list[int] = []
    monkeypatch.setitem(registry.errands, "test-errand", subjects.append)
    return subjects


def test_an_errand_is_promised_once_and_done_once(done):
    now = timezone.now()
    promise_errand(kind="test-errand", subject_id=4, now=now)
    promise_errand(kind="test-errand", subject_id=4, now=now)
    assert run_waiting(now=now) == 1
    assert run_waiting(now=now) == 0
    assert done == [4]


def test_an_errand_in_a_dead_workers_hands_is_found_again(done):
    now = timezone.now()
    errand = promise_errand(kind="test-errand", subject_id=4, now=now)
    Errand.objects.filter(pk=errand.pk).update(lease_until=now - timedelta(seconds=1), attempts=1)
    assert run_waiting(now=now) == 1
    assert done == [4]


def test_an_errand_in_a_living_workers_hands_is_left_alone(done):
    now = timezone.now()
    errand = promise_errand(kind="test-errand", subject_id=4, now=now)
    Errand.objects.filter(pk=errand.pk).update(lease_until=now + LEASE, attempts=1)
    assert run_waiting(now=now) == 0


def test_an_errand_that_keeps_failing_is_given_up_and_becomes_a_matter(monkeypatch):
    def broken(subject_id):
        raise ValueError("no such thing")

    monkeypatch.setitem(registry.errands, "test-errand", broken)
    now = timezone.now()
    errand = promise_errand(kind="test-errand", subject_id=4, now=now)
    for _attempt in range(MOST_ATTEMPTS + 2):
        Errand.objects.filter(pk=errand.pk).update(run_after=now)
        run_waiting(now=now)
    errand.refresh_from_db()
    assert errand.attempts == MOST_ATTEMPTS
    assert errand.last_error == "ValueError: no such thing"
    assert any(matter.key == f"errand:{errand.pk}" for matter in registry.desk(now))


def test_a_slow_kind_waits_in_a_queue_of_its_own(done, monkeypatch):
    monkeypatch.setitem(registry.slow_errands, "test-errand", "plans")
    now = timezone.now()
    promise_errand(kind="test-errand", subject_id=4, now=now)
    assert run_waiting(now=now, queue="notices") == 0
    assert run_waiting(now=now, queue="plans") == 1
    assert done == [4]
