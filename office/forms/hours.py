"""Working hours as seven lines of text, "09:00-12:00, 13:00-17:00", kept in the form the calendar rule reads."""

import re
from itertools import pairwise
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

DAYS = {
    "mon": _("Monday"),
    "tue": _("Tuesday"),
    "wed": _("Wednesday"),
    "thu": _("Thursday"),
    "fri": _("Friday"),
    "sat": _("Saturday"),
    "sun": _("Sunday"),
}
SPAN = re.compile(r"^\s*([01]\d|2[0-3]):([0-5]\d)\s*[-–]\s*(([01]\d|2[0-3]):([0-5]\d)|24:00)\s*$")


class HoursWidget(forms.MultiWidget):
    """Seven short text boxes, Monday to Sunday."""

    template_name = "parts/hours_widget.html"

    def __init__(self) -> None:
        super().__init__(
            {day: forms.TextInput(attrs={"class": "hours-day", "aria-label": str(name)}) for day, name in DAYS.items()}
        )

    def decompress(self, value: dict[str, Any] | None) -> list[str]:
        return [", ".join("-".join(span) for span in (value or {}).get(day, [])) for day in DAYS]

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        for part, day in zip(context["widget"]["subwidgets"], DAYS.values(), strict=True):
            part["day"] = day
        return context


class HoursField(forms.MultiValueField):
    """A week's hours: {"mon": [["09:00", "17:00"]], …}; a day left empty is closed."""

    widget = HoursWidget

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", _("Such as 09:00-12:00, 13:00-17:00; leave a closed day empty."))
        super().__init__(
            [forms.CharField(required=False) for _day in DAYS], require_all_fields=False, required=False, **kwargs
        )

    def compress(self, values: list[str]) -> dict[str, list[list[str]]]:
        week = {day: self._spans(text, DAYS[day]) for day, text in zip(DAYS, values or [""] * 7, strict=True)}
        return {day: spans for day, spans in week.items() if spans}

    def _spans(self, text: str, day: str) -> list[list[str]]:
        spans = [self._span(part, day) for part in text.split(",") if part.strip()]
        for earlier, later in pairwise(spans):
            if later[0] < earlier[1]:
                raise forms.ValidationError(_("%(day)s: the spans must follow one another.") % {"day": day})
        return spans

    def _span(self, text: str, day: str) -> list[str]:
        found = SPAN.match(text)
        if not found or found.group(3) <= f"{found.group(1)}:{found.group(2)}":
            raise forms.ValidationError(
                _("%(day)s: expected hours such as 09:00-17:00, found “%(text)s”.") % {"day": day, "text": text.strip()}
            )
        return [f"{found.group(1)}:{found.group(2)}", found.group(3)]
