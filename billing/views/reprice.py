"""Repricing: past jobs under another card, as tables and as a drawing."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from billing.actions.pricing import local_day
from billing.actions.repricing import Repricing, reprice_past
from billing.forms.reprice import RepriceForm
from billing.rules.revenue import Revenue
from jobs.models import Package
from office.rules.money_format import format_number, shortest
from office.rules.units import AREA_WORDS

YEAR = timedelta(days=365)
BAR_LENGTH, BAR_STEP = 170, 64


@dataclass(frozen=True)
class Row:
    """A group by its words."""

    words: str
    revenue: Revenue


@dataclass(frozen=True)
class Bar:
    """Two bars of one group in the drawing: where they stand and how long they are."""

    row: Row
    top: int
    then: int
    now: int


def reprice_page(request: HttpRequest) -> HttpResponse:
    """Choose period and card, then see who pays more and who pays less."""
    form = RepriceForm(request.GET if "first_day" in request.GET else None, initial=_initial(request))
    found = _found(form) if form.is_valid() else None
    return render(request, "billing/reprice.html", {"form": form, **(_shown(request, found) if found else {})})


def _initial(request: HttpRequest) -> dict[str, Any]:
    today = local_day(timezone.now())
    return {"card": request.GET.get("card", ""), "first_day": today - YEAR, "last_day": today}


def _found(form: RepriceForm) -> Repricing:
    typed = form.cleaned_data
    return reprice_past(rate_card=typed["card"], first_day=typed["first_day"], last_day=typed["last_day"])


def _shown(request: HttpRequest, found: Repricing) -> dict[str, Any]:
    packages = dict(Package.objects.values_list("code", "name"))
    by_package = [Row(packages.get(row.group, row.group), row) for row in found.packages]
    clients = {"more": found.more, "less": found.less}
    return {
        "found": found,
        "tables": [
            (_("By package"), by_package),
            (_("By floor area"), _area_rows(found, request.office.locale)),
            (_("By levels"), [Row(str(row.group), row) for row in found.levels]),
        ],
        "bars": _bars(by_package),
        "height": BAR_STEP * len(by_package),
        **{name: [Row(found.names[row.group], row) for row in rows] for name, rows in clients.items()},
    }


def _area_rows(found: Repricing, locale: str) -> list[Row]:
    return [Row(_area_words(row.group, found, locale), row) for row in found.areas]


def _area_words(end: Decimal | None, found: Repricing, locale: str) -> str:
    if end is None and not found.ends:
        return _("any area")
    figure = format_number(Decimal(shortest(found.ends[-1] if end is None else end)), locale)
    area = f"{figure} {AREA_WORDS[found.card.area_unit]}"
    return _("over %s") % area if end is None else _("up to %s") % area


def _bars(rows: list[Row]) -> list[Bar]:
    """The longest bar fills the drawing; the others are in proportion."""
    longest = max((max(row.revenue.then, row.revenue.now) for row in rows), default=Decimal(0))
    scale = BAR_LENGTH / longest if longest > 0 else Decimal(0)
    return [
        Bar(row, BAR_STEP * place, _length(row.revenue.then, scale), _length(row.revenue.now, scale))
        for place, row in enumerate(rows)
    ]


def _length(amount: Decimal, scale: Decimal) -> int:
    return max(round(amount * scale), 0)
