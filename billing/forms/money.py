"""Payments, and lines entered by hand on a draft."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from billing.models import Invoice, PaymentMethod
from jobs.models import Client
from office.forms.base import PlainForm, local_day
from office.models import Office
from office.rules.date_format import format_day
from office.rules.money_format import format_money


class LineForm(PlainForm):
    text = forms.CharField(label=_("What"), max_length=200)
    quantity = forms.DecimalField(label=_("Quantity"), max_digits=12, decimal_places=4, min_value=0, initial=1)
    unit_price = forms.DecimalField(label=_("Price, net"), max_digits=12, decimal_places=4)


class ClientForm(PlainForm):
    """Whose money it is; asked first, for the choice of invoices depends on it."""

    client = forms.ModelChoiceField(label=_("Who paid"), queryset=Client.objects.all())


class PaymentForm(PlainForm):
    """A payment of one client, and which of their open invoices it is for."""

    amount = forms.DecimalField(label=_("Amount"), max_digits=14, decimal_places=4)
    currency = forms.ChoiceField(label=_("Currency"))
    received_on = local_day(label=_("Received on"))
    method = forms.ChoiceField(label=_("How"), choices=PaymentMethod)
    reference = forms.CharField(label=_("Reference"), max_length=80, required=False)
    invoices = forms.ModelMultipleChoiceField(
        label=_("For these invoices"), queryset=Invoice.objects.none(), required=False,
        widget=forms.CheckboxSelectMultiple, help_text=_("None chosen: the longest due is paid first."),
    )  # fmt: skip

    def __init__(self, *args: Any, client: Client, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        owing = Invoice.objects.owing().filter(client=client).with_paid().select_related("shoot__property")
        self.fields["invoices"].queryset = owing
        self.fields["invoices"].label_from_instance = _worded
        currencies = sorted({invoice.currency for invoice in owing} | {Office.the().currency})
        self.fields["currency"].choices = [(code, code) for code in currencies]
        if len(currencies) == 1:
            self.fields["currency"].widget = forms.HiddenInput()
            self.fields["currency"].initial = currencies[0]
            self.fields["amount"].label = _("Amount, %s") % currencies[0]
        if not owing:
            del self.fields["invoices"]


def _worded(invoice: Invoice) -> str:
    office = Office.the()
    facts = {
        "number": invoice.number,
        "open": format_money(invoice.total - invoice.paid, invoice.currency, office.locale),
        "due": format_day(invoice.due_on, office.zone, office.locale),
    }
    return _("%(number)s: %(open)s open, due %(due)s") % facts
