from office.models import Person

from .base import RowForm


class PersonForm(RowForm):
    class Meta:
        model = Person
        fields = ["name", "email", "phone", "role", "is_active"]

    def clean_email(self) -> str:
        return self.cleaned_data["email"].lower()
