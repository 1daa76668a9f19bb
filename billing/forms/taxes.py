"""A tax the office adds, from a day to a day."""

from django.utils.translation import gettext_lazy as _

from billing.models import TaxRate
from office.forms.base import RowForm, local_day

from .card_rows import figure


class TaxForm(RowForm):
    percent = figure(_("Percent"), digits=7, max_value=100)
    starts_on = local_day(label=_("From"))
    ends_on = local_day(label=_("Until"), required=False)

    class Meta:
        model = TaxRate
        fields = ["name", "percent", "starts_on", "ends_on"]
