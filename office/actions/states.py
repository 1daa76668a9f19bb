"""The one setter of states."""

from typing import Any, TypeVar

from django.db import models
from django.utils.translation import gettext as _

from office.errors import WrongState
from office.models import Stateful

S = TypeVar("S", bound=Stateful)


def locked(row: S) -> S:
    """The row as it stands now, held against other writers until the transaction ends."""
    return type(row)._base_manager.select_for_update().get(pk=row.pk)


def move(row: S, to: str, **fields: Any) -> S:
    """Bring `row` into state `to`, with `fields` changed beside it; raises `WrongState`, changing nothing.

    The update asks for the state that was read, so of two who try at once exactly one succeeds.
    """
    if not row.may_become(to):
        raise WrongState(_wrong_state_text(row, to))
    updated = type(row)._base_manager.filter(pk=row.pk, state=row.state).update(state=to, **fields)
    if not updated:
        raise WrongState(_("Somebody else has just changed this. Look at it again."))
    row.state = to
    for name, value in fields.items():
        setattr(row, name, value)
    return row


def _wrong_state_text(row: Stateful, to: str) -> str:
    field = row._meta.get_field("state")
    assert isinstance(field, models.CharField)
    words = dict(field.flatchoices)
    return _("%(what)s is %(state)s, so it cannot become %(to)s.") % {
        "what": str(row),
        "state": str(words[row.state]).lower(),
        "to": str(words[to]).lower(),
    }
