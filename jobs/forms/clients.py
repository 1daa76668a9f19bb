from django import forms

from jobs.models import Client
from office.forms.base import RowForm


class ClientForm(RowForm):
    class Meta:
        model = Client
        fields = [
            "name", "company", "kind", "email", "phone", "street", "town", "region", "postcode", "country",
            "tax_number", "is_business", "notes",
        ]  # fmt: skip
        widgets = {"notes": forms.Textarea(attrs={"rows": 2})}
