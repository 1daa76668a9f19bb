"""Two people at once: exactly one of them has it."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from deliverables.actions.bundles import hand_over
from deliverables.actions.fixes import ask_fix, return_fix, send_fixes, withdraw_fix
from deliverables.models import Bundle, FixRequest, FixState, PlanOrder, PlanOrderState
from office.errors import Refused
from office.models import Event
from tests.cast import NOW

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*calls):
    """Run the calls in threads of their own; each gives its result or its refusal."""

    def run(call):
        try:
            return call()
        except Refused as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def refusals(results):
    return [result for result in results if isinstance(result, Refused)]


def test_a_fix_is_returned_while_it_is_withdrawn(fix, by_owner, by_drafter):
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)
    results = at_once(
        lambda: return_fix(fix=FixRequest.objects.get(pk=fix.pk), note="", by=by_drafter, now=NOW),
        lambda: withdraw_fix(fix=FixRequest.objects.get(pk=fix.pk), by=by_owner, now=NOW),
    )
    fix.refresh_from_db()
    # Withdrawn after it was returned is allowed, returned after it was withdrawn is not.
    assert fix.state == FixState.WITHDRAWN
    assert len(refusals(results)) <= 1
    assert Event.objects.filter(verb="fix-withdrawn").count() == 1
    assert Event.objects.filter(verb="fix-returned").count() == 1 - len(refusals(results))
    assert PlanOrder.objects.get().state == PlanOrderState.TO_CHECK


def test_two_returns_of_one_fix(fix, by_owner, by_drafter):
    send_fixes(plan_order=fix.plan_order, by=by_owner, now=NOW)

    def give_back():
        return return_fix(fix=FixRequest.objects.get(pk=fix.pk), note="", by=by_drafter, now=NOW)

    assert len(refusals(at_once(give_back, give_back))) == 1
    assert Event.objects.filter(verb="fix-returned").count() == 1


def test_fixes_asked_at_once_get_numbers_of_their_own(draft, by_owner):
    def ask():
        return ask_fix(draft=draft, kind="other", text="x", page=1, x=None, y=None, by=by_owner, now=NOW)

    assert refusals(at_once(*[ask] * 5)) == []
    assert sorted(FixRequest.objects.values_list("number", flat=True)) == [1, 2, 3, 4, 5]


def test_a_bundle_is_handed_over_by_one_of_two(bundle, by_owner):
    def give():
        return hand_over(bundle=Bundle.objects.get(pk=bundle.pk), by=by_owner, now=NOW)

    assert len(refusals(at_once(give, give))) == 1
    assert Bundle.objects.handed_over().count() == 1
    assert Bundle.objects.get().items.filter(kind="cover_sheet").count() == 1
