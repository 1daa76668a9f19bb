"""Keyset paging: a page costs the same however many rows came before it."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Model, Q, QuerySet
from django.http import HttpRequest

ROWS = 50


@dataclass(frozen=True)
class Page:
    """Some rows and the key by which the next ones are found ("" when there are none)."""

    rows: list[Any]
    next_key: str

    def __iter__(self) -> Any:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)


def page_of(request: HttpRequest, rows: QuerySet[Model], rows_a_page: int = ROWS) -> Page:
    """The page after `?after=<pk>` of `rows`, which must be ordered by `-pk` or `pk`, or by one field and then that."""
    after = request.GET.get("after", "")
    if after.isdigit():
        rows = rows.filter(_beyond(rows, int(after)))
    found = list(rows[: rows_a_page + 1])
    next_key = str(found[rows_a_page - 1].pk) if len(found) > rows_a_page else ""
    return Page(found[:rows_a_page], next_key)


def _beyond(rows: QuerySet[Model], pk: int) -> Q:
    """The rows that come after row `pk` in the order of the query."""
    *leading, last = rows.query.order_by
    step = "lt" if last.startswith("-") else "gt"
    beyond = Q(**{f"pk__{step}": pk})
    if not leading:
        return beyond
    field, descending = leading[0].lstrip("-"), leading[0].startswith("-")
    at = rows.model._base_manager.filter(pk=pk).values_list(field, flat=True).first()
    return Q(**{f"{field}__{'lt' if descending else 'gt'}": at}) | Q(**{field: at}) & beyond
