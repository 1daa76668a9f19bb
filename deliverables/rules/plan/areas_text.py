"""Floor areas written on a plan ("1,234 sq ft", "114.6 m²") against the area stated for the property."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

SQUARE_METRES_PER_SQUARE_FOOT = Fraction(3048, 10000) ** 2
"""1 ft = 0.3048 m exactly (NIST SP 811, appendix B)."""
THIN = "\u00a0\u2009\u202f"
FIGURE_STARTS = r"(?:^|(?<=[:=(])|(?<=[:=(] ))"
"""Where a plain space can be a thousands separator: "Area: 1 234 m²", but not "Bedroom 2 114 sq ft"."""
NUMBER = "|".join(
    (
        rf"{FIGURE_STARTS}\d{{1,3}}(?: \d{{3}}){{1,2}}",
        rf"\d{{1,3}}(?:[,{THIN}]\d{{3}}){{1,2}}(?:\.\d{{1,4}})?",
        r"\d{1,3}(?:\.\d{3}){1,2},\d{1,4}",
        r"\d{1,9}(?:[.,]\d{1,4})?",
    )
)
SQUARE_FEET = r"sq\.?\s*-?\s*f(?:ee)?t\b\.?|sqft\b|sf\b|square\s+f(?:ee|oo)t|ft\s*[²2](?!\w)"
SQUARE_METRES = r"sq\.?\s*-?\s*m(?:et(?:re|er)s?|trs?)?\b\.?|sqm\b|square\s+met(?:re|er)s?|m\s*[²2](?!\w)|qm\b"
AREA = re.compile(
    rf"(?<![\d.,/])(?P<number>{NUMBER})\s*(?:(?P<feet>{SQUARE_FEET})|(?P<metres>{SQUARE_METRES}))", re.I | re.M
)
TOTAL = re.compile(r"\b(?:total|gross|overall|g\.?i\.?f?\.?a|g\.?f\.?a|g\.?e\.?a|whole|entire)\b", re.I)
AGREES = Fraction(3, 100)
ONE_FIGURE = Fraction(1, 100)
"""Two figures of one label that agree so closely are the same area in two units."""


@dataclass(frozen=True)
class WrittenArea:
    """An area as written, in square metres, and whether its label calls it a total."""

    text: str
    area_m2: Fraction
    is_total: bool


def written_areas(labels: Iterable[str]) -> list[WrittenArea]:
    """The areas that `labels` state, one for figures that say the same in two units."""
    found: list[WrittenArea] = []
    for label in labels:
        mine: list[WrittenArea] = []
        for match in AREA.finditer(label):
            area = WrittenArea(" ".join(match.group().split()), _square_metres(match), bool(TOTAL.search(label)))
            if area.area_m2 and not any(differs_by(area.area_m2, other.area_m2) <= ONE_FIGURE for other in mine):
                mine.append(area)
        found += mine
    return found


def claimed_total(areas: Sequence[WrittenArea], stated_m2: Fraction) -> WrittenArea | None:
    """What the plan gives as its whole area: of the figures it calls a total, else of all, the reading nearest to
    `stated_m2`, each alone or (as for levels) all summed. None without any figure."""
    figures = [area for area in areas if area.is_total] or areas
    return min([*figures, *_sums(figures)], key=lambda reading: abs(reading.area_m2 - stated_m2), default=None)


def differs_by(area: Fraction, stated: Fraction) -> Fraction:
    """The difference as a share of `stated`, exact; `stated` is not zero."""
    return abs(area - stated) / stated


def _sums(areas: Sequence[WrittenArea]) -> list[WrittenArea]:
    if len(areas) < 2:
        return []
    return [WrittenArea(" + ".join(area.text for area in areas), sum((a.area_m2 for a in areas), Fraction(0)), False)]


def _square_metres(match: re.Match[str]) -> Fraction:
    number = _number(match["number"])
    return number * SQUARE_METRES_PER_SQUARE_FOOT if match["feet"] else number


def _number(text: str) -> Fraction:
    """1,234.5 and 1 234 with thousands, 114,6 and 1.234,5 with a decimal comma."""
    text = re.sub(f"[ {THIN}]", "", text)
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?", text):
        return Fraction(text.replace(",", ""))
    if "," in text:
        return Fraction(text.replace(".", "").replace(",", "."))
    return Fraction(text)
