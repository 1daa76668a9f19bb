"""States as data: each stateful model carries one table that says what may follow what."""

from typing import ClassVar

from django.db import models


class Stateful(models.Model):
    """A row with a `state` and a table of what may follow it. `office.actions.states.move` is the one setter."""

    ALLOWED: ClassVar[dict[str, frozenset[str]]]

    class Meta:
        abstract = True

    def may_become(self, state: str) -> bool:
        return state in self.ALLOWED[self.state]

    @property
    def is_final(self) -> bool:
        return not self.ALLOWED[self.state]
