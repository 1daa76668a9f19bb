"""Rate cards: as they stand, written on one page with live samples, followed, and as files."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest, JsonResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from billing.actions.card_edits import change_card, follow_card, make_card, refuse_if_frozen
from billing.actions.card_files import import_card, next_card_number
from billing.actions.pricing import local_day
from billing.actions.rate_cards import card_json
from billing.actions.samples import samples
from billing.forms.card_file import CardFileForm
from billing.forms.cards import CardForms, typed_card, with_row_added, with_row_removed
from billing.models import RateCard, TaxRate
from billing.rules.card import Card
from office.paging import page_of
from office.rules.money import smallest
from office.rules.reading import BadInput
from office.views.acting import act, attempt, say

FAULTS_SHOWN = 4


def rate_cards(request: HttpRequest) -> HttpResponse:
    """All cards, the newest number first, and which one prices an order of today."""
    today = local_day(timezone.now())
    page = page_of(request, RateCard.objects.select_related("client").order_by("-pk"))
    context = {"page": page, "today": today, "in_force": RateCard.objects.in_force(today)}
    return render(request, "billing/rate_cards.html", context)


def rate_card(request: HttpRequest, number: int) -> HttpResponse:
    """One card, row by row, with the taxes of today."""
    today, in_force = local_day(timezone.now()), RateCard.objects.in_force(local_day(timezone.now()))
    context = {"card": _card(number), "today": today, "in_force": in_force, "taxes": TaxRate.objects.on(today)}
    return render(request, "billing/rate_card.html", context)


def rate_card_new(request: HttpRequest) -> HttpResponse:
    """A card from nothing."""
    typed = _typed(request) or _blank(request)
    forms = CardForms(typed)
    if _is_sent(request) and (made := _saved(request, forms, None)):
        say(request, _("Made."))
        return redirect(made)
    return render(request, "billing/rate_card_form.html", {"forms": forms, "card": None})


def rate_card_edit(request: HttpRequest, number: int) -> HttpResponse:
    """A card that nobody has been quoted yet."""
    card = _card(number)
    if request.method == "GET":
        refuse_if_frozen(card)
    typed = _typed(request) or typed_card(card_json(card, card.starts_on), card.name, card.client)
    forms = CardForms(typed)
    if _is_sent(request) and (changed := _saved(request, forms, card)):
        say(request, _("Saved."))
        return redirect(changed)
    return render(request, "billing/rate_card_form.html", {"forms": forms, "card": card})


@require_POST
def rate_card_row(request: HttpRequest) -> HttpResponse:
    """The rows of one kind with a row more or less; nothing is saved."""
    prefix = request.POST.get("row", "").partition(":")[0]
    rows = CardForms(_with_row_changed(request.POST)).row_set(prefix)
    if rows is None:
        return HttpResponseBadRequest()
    return render(request, "billing/card_rows.html", {"rows": rows})


@require_POST
def rate_card_sample(request: HttpRequest) -> HttpResponse:
    """What three invented houses would cost by what is typed so far; nothing is saved."""
    forms = CardForms(request.POST)
    context: dict[str, Any] = {}
    if not forms.is_valid():
        context["faults"] = list(forms.faults())[:FAULTS_SHOWN]
    else:
        try:
            card = forms.card(1)
            names = {part.package.code: part.package.name for part in forms.packages}
            context |= {"samples": samples(card, names), "card": card}
        except BadInput as refusal:
            context["faults"] = [f"{refusal.path}: {refusal.expected}"]
    return render(request, "billing/card_sample.html", context)


@require_POST
def rate_card_next(request: HttpRequest, number: int) -> HttpResponse:
    """A copy that will follow this card."""
    following = act(request, follow_card, rate_card=_card(number))
    say(request, _("This is a copy from a later day. Change what changes."))
    return redirect("billing:rate-card-edit", following.number)


def rate_card_export(request: HttpRequest, number: int) -> HttpResponse:
    """The card as the file that the price command reads."""
    card = _card(number)
    day = max(card.starts_on, local_day(timezone.now()))
    response = JsonResponse(card_json(card, day), json_dumps_params={"indent": 1, "ensure_ascii": False})
    response["Content-Disposition"] = f'attachment; filename="rate-card-{number}.json"'
    return response


def rate_card_import(request: HttpRequest) -> HttpResponse:
    """A card from a file."""
    form = CardFileForm(request.POST or None, request.FILES or None)
    if form.is_valid() and (card := attempt(request, form, import_card, **form.file())):
        say(request, _("Brought in as %s.") % card)
        return redirect(card)
    return render(request, "billing/rate_card_import.html", {"form": form})


def _card(number: int) -> RateCard:
    return get_object_or_404(RateCard.objects.with_rows(), number=number)


def _typed(request: HttpRequest) -> QueryDict | None:
    """What was typed, with the row added or removed that a browser without scripts asked for."""
    return _with_row_changed(request.POST) if request.method == "POST" else None


def _is_sent(request: HttpRequest) -> bool:
    return request.method == "POST" and "row" not in request.POST


def _with_row_changed(typed: QueryDict) -> QueryDict:
    """`row` is "travel:add" or "travel:remove:2"."""
    prefix, _colon, what = typed.get("row", "").partition(":")
    if what == "add":
        return with_row_added(typed, prefix)
    number = what.removeprefix("remove:")
    return with_row_removed(typed, prefix, int(number)) if number.isdigit() else typed


def _blank(request: HttpRequest) -> QueryDict:
    office = request.office
    today = local_day(timezone.now()).isoformat()
    file = {
        "from": today, "currency": office.currency, "area_unit": office.area_unit, "minimum": "0",
        "weekend_percent": "0", "round_net_to": str(smallest(office.currency)), "tax_rounding": "invoice",
        "packages": {}, "add_ons": {}, "travel": [], "short_notice": [], "client_volume": [],
    }  # fmt: skip
    return typed_card(file, "", None)


def _saved(request: HttpRequest, forms: CardForms, card: RateCard | None) -> RateCard | None:
    """The card made or changed; `None` means: show the forms again, with what is wrong beside its field."""
    content = _content(forms, card.number if card else next_card_number())
    if content is None:
        return None
    fields = {name: forms.header.cleaned_data[name] for name in ("name", "client")}
    if card is None:
        return attempt(request, forms.header, make_card, card=content, **fields)
    return attempt(request, forms.header, change_card, rate_card=card, card=content, **fields)


def _content(forms: CardForms, number: int) -> Card | None:
    if not forms.is_valid():
        return None
    try:
        return forms.card(number)
    except BadInput as refusal:
        forms.show(refusal)
        return None
