"""Levels, spaces and openings as three text boxes, one line each: quick on a phone, easy to copy from an earlier job.

levels:    Basement, below, -2.60          (name, grade, elevation in metres; the order of the lines does not matter)
spaces:    K1, Kitchen, kitchen, Ground    (code, name, kind, level's name; a last word "private" hides it from the tour)
openings:  D1, K1, H1, door                (code, the two spaces' codes, kind)
"""  # noqa: E501

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.actions.shapes import shape_from_parts
from jobs.models import Grade, OpeningKind, Property, SpaceKind
from office.forms.base import PlainForm
from office.rules.reading import BadInput


class ShapeForm(PlainForm):
    levels = forms.CharField(
        label=_("Levels"), widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}), max_length=4_000,
        help_text=_("One a line: name, grade (below, at, above), elevation in metres. The lowest becomes level 1."),
    )  # fmt: skip
    spaces = forms.CharField(
        label=_("Spaces"), widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"}), max_length=40_000,
        help_text=_("One a line: code, name, kind, level's name; add “private” where the tour must not go. Kinds: %s")
        % ", ".join(SpaceKind.values),
    )  # fmt: skip
    openings = forms.CharField(
        label=_("Openings"), widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}), required=False,
        max_length=40_000,
        help_text=_("One a line: code, two spaces' codes, kind. Kinds: %s") % ", ".join(OpeningKind.values),
    )  # fmt: skip
    entrance = forms.CharField(label=_("Entrance"), max_length=20, help_text=_("The code of the space one enters."))

    @classmethod
    def of_house(cls, house: Property) -> dict[str, str]:
        """The house as it stands, in the same lines."""
        levels = [f"{level.name}, {level.grade}, {level.elevation_m}" for level in house.levels.all()]
        spaces = [
            f"{space.code}, {space.name}, {space.kind}, {space.level.name}" + (", private" if space.private else "")
            for space in house.spaces.all()
        ]
        openings = [f"{door.code}, {door.one.code}, {door.other.code}, {door.kind}" for door in house.openings.all()]
        return {
            "levels": "\n".join(levels),
            "spaces": "\n".join(spaces),
            "openings": "\n".join(openings),
            "entrance": house.entrance.code if house.entrance else "",
        }

    def clean_levels(self) -> list[dict[str, Any]]:
        levels = [self._level(line, words) for line, words in _lines(self.cleaned_data["levels"])]
        levels.sort(key=lambda level: Decimal(level["elevation_m"]))
        return [{"number": number, **level} for number, level in enumerate(levels, 1)]

    def _level(self, line: int, words: list[str]) -> dict[str, Any]:
        if len(words) != 3:
            raise forms.ValidationError(_("Line %d: expected a name, a grade and an elevation.") % line)
        name, grade, elevation = words
        if grade not in Grade.values:
            raise forms.ValidationError(
                _("Line %(line)d: expected below, at or above, found “%(word)s”.") % {"line": line, "word": grade}
            )
        try:
            metres = Decimal(elevation)
        except InvalidOperation:
            metres = None
        if metres is None or not abs(metres) < 1000:
            raise forms.ValidationError(_("Line %d: expected an elevation in metres, such as -2.60.") % line)
        return {"name": name, "grade": grade, "elevation_m": str(metres)}

    def clean_spaces(self) -> list[dict[str, Any]]:
        numbers = {level["name"]: level["number"] for level in self.cleaned_data.get("levels", [])}
        return [self._space(line, words, numbers) for line, words in _lines(self.cleaned_data["spaces"])]

    def _space(self, line: int, words: list[str], numbers: dict[str, int]) -> dict[str, Any]:
        private = len(words) == 5 and words[4] == "private"
        if len(words) != 4 + private:
            raise forms.ValidationError(_("Line %d: expected a code, a name, a kind and a level.") % line)
        code, name, kind, level = words[:4]
        if kind not in SpaceKind.values:
            raise forms.ValidationError(
                _("Line %(line)d: “%(kind)s” is not a kind of space.") % {"line": line, "kind": kind}
            )
        if numbers and level not in numbers:
            raise forms.ValidationError(
                _("Line %(line)d: there is no level “%(level)s”.") % {"line": line, "level": level}
            )
        return {"code": code, "name": name, "kind": kind, "level": numbers.get(level, 1), "private": private}

    def clean_openings(self) -> list[dict[str, Any]]:
        return [self._opening(line, words) for line, words in _lines(self.cleaned_data["openings"])]

    def _opening(self, line: int, words: list[str]) -> dict[str, Any]:
        if len(words) != 4 or words[3] not in OpeningKind.values:
            raise forms.ValidationError(_("Line %d: expected a code, two spaces and a kind of opening.") % line)
        return {"code": words[0], "between": words[1:3], "kind": words[3]}

    def clean(self) -> dict[str, Any]:
        """The whole must be a property that the walk check can read."""
        if not self.errors:
            try:
                self.shape = shape_from_parts(**self.cleaned_data)
            except BadInput as refusal:
                self.add_error(self._field_of(refusal), f"{refusal.path}: {refusal.expected}")
        return self.cleaned_data

    def _field_of(self, refusal: BadInput) -> str | None:
        field = refusal.path.split("[")[0].split(".")[0]
        return field if field in self.fields else None


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """Numbered lines that are not empty, each as its words between commas."""
    numbered = enumerate(text.splitlines(), 1)
    return [(line, [word.strip() for word in words.split(",")]) for line, words in numbered if words.strip()]
