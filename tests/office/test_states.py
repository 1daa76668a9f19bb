"""Every state machine of the program, walked in full: what the table allows happens, all else is refused."""

import pytest
from django.apps import apps

from office.actions.states import move
from office.errors import WrongState
from office.models import Notice, NoticeState, Stateful
from tests.cast import NOW

STATEFUL = [model for model in apps.get_models() if issubclass(model, Stateful)]


@pytest.mark.parametrize("model", STATEFUL, ids=lambda model: model.__name__)
def test_the_table_names_every_state_and_no_other(model):
    states = set(model._meta.get_field("state").choices and dict(model._meta.get_field("state").choices))
    assert set(model.ALLOWED) == states
    assert set().union(*model.ALLOWED.values()) <= states


@pytest.mark.parametrize("model", STATEFUL, ids=lambda model: model.__name__)
def test_every_state_can_be_reached_from_the_first(model):
    first = model._meta.get_field("state").default
    reached, found = set(), {first}
    while found - reached:
        reached |= found
        found = reached.union(*(model.ALLOWED[state] for state in reached))
    assert reached == set(model.ALLOWED)


@pytest.mark.django_db
@pytest.mark.parametrize("start", NoticeState.values)
@pytest.mark.parametrize("end", NoticeState.values)
def test_move_does_what_the_table_says(start, end):
    notice = Notice.objects.create(
        key="k", to_address="a@example.org", subject="s", text="t", written_at=NOW, send_after=NOW, state=start
    )
    if end in Notice.ALLOWED[start]:
        assert move(notice, end).state == end
    else:
        with pytest.raises(WrongState):
            move(notice, end)
        end = start
    notice.refresh_from_db()
    assert notice.state == end


@pytest.mark.django_db
def test_of_two_who_move_the_same_row_one_is_told(db):
    notice = Notice.objects.create(
        key="k", to_address="a@example.org", subject="s", text="t", written_at=NOW, send_after=NOW
    )
    same = Notice.objects.get(pk=notice.pk)
    move(notice, NoticeState.SENT, sent_at=NOW)
    with pytest.raises(WrongState, match="Somebody else"):
        move(same, NoticeState.WITHDRAWN)
    same.refresh_from_db()
    assert same.state == NoticeState.SENT
