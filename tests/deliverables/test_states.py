"""Every state table of the top floor, walked in full: what is allowed happens, everything else is refused."""

import pytest

from deliverables.models import Bundle, BundleState, FixRequest, FixState, PlanOrder, PlanOrderState
from office.actions.states import move
from office.errors import WrongState
from tests.cast import NOW

MODELS = [(PlanOrder, PlanOrderState), (FixRequest, FixState), (Bundle, BundleState)]
PAIRS = [(model, old, new) for model, states in MODELS for old in states for new in states]


@pytest.fixture
def row(request, fix, bundle_row):
    """One row of each model."""
    return {PlanOrder: fix.plan_order, FixRequest: fix, Bundle: bundle_row}


@pytest.fixture
def bundle_row(shoot):
    return Bundle.objects.create(shoot=shoot, number=1, made_at=NOW)


@pytest.mark.parametrize(("model", "old", "new"), PAIRS)
def test_a_move_is_made_exactly_when_the_table_allows_it(row, model, old, new):
    subject = row[model]
    model.objects.filter(pk=subject.pk).update(state=old)
    subject.refresh_from_db()
    if new in model.ALLOWED[old]:
        move(subject, new)
    else:
        with pytest.raises(WrongState):
            move(subject, new)
    subject.refresh_from_db()
    assert subject.state == (new if new in model.ALLOWED[old] else old)


@pytest.mark.parametrize(("model", "states"), MODELS)
def test_the_table_knows_every_state_and_no_other(model, states):
    assert set(model.ALLOWED) == set(states)
    assert set().union(*model.ALLOWED.values()) <= set(states)


@pytest.mark.parametrize(("model", "states"), MODELS)
def test_every_state_can_be_reached(model, states):
    reached = {next(iter(states))}
    for _step in states:
        reached |= set().union(*(model.ALLOWED[state] for state in reached))
    assert reached == set(states)
