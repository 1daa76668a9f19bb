"""The text of room dimensions as exact lengths: 12'-4" × 10'-0", 12′ 4½″ x 10′, 3.76 × 3.05 m, 3760 × 3050 mm."""

import re
from collections.abc import Iterable
from fractions import Fraction

METRES_PER_FOOT = Fraction(3048, 10000)
METRES_PER_INCH = METRES_PER_FOOT / 12
"""1 ft = 0.3048 m and 1 in = 0.0254 m exactly (NIST SP 811, appendix B)."""
METRES = {"mm": Fraction(1, 1000), "cm": Fraction(1, 100), "m": Fraction(1)}
VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
FOOT = r"(?:['′’‘ʹ´`]|ft\.?|feet|foot)"
INCH = r"(?:[\"″”“ʺ]|''|′′|’’|in\.?|ins\.?|inch(?:es)?)"
PART = r"(?:[½¼¾⅛⅜⅝⅞⅓⅔]|\d{1,3}[/⁄]\d{1,3})"
NUMBER = r"\d{1,5}(?:[.,]\d{1,4})?"
INCHES = rf"(?:\d{{1,3}}(?:\.\d{{1,4}})?(?:[\s-]*{PART})?|{PART})"
IMPERIAL = rf"(?:{NUMBER}\s*{FOOT}(?!['′’])(?:[\s-]*{INCHES}\s*{INCH}?)?|{INCHES}\s*{INCH})"
UNIT = r"(?:mm|cm|m)\b(?!\s*[²2])"
ASIDE = r"(?:\s*\(?\b[wdl]\b\)?)?(?:\s*\([^()\n]{1,20}\))?"
TIMES = r"\s*(?:[x×✕✖*]|by)\s*"
DIMENSIONS = re.compile(
    rf"(?<![\w.,/⁄])(?:(?P<first>{IMPERIAL}){ASIDE}{TIMES}(?P<second>{IMPERIAL})"
    rf"|(?P<one>{NUMBER})\s*(?P<unit>{UNIT})?{ASIDE}{TIMES}(?P<other>{NUMBER})\s*(?P<last>{UNIT}))",
    re.IGNORECASE,
)
FEET = re.compile(rf"(?P<feet>{NUMBER})\s*{FOOT}(?!['′’])(?:[\s-]*(?P<inches>{INCHES})\s*{INCH}?)?", re.IGNORECASE)
ONLY_INCHES = re.compile(rf"(?P<inches>{INCHES})\s*{INCH}", re.IGNORECASE)
SAME_ROOM = Fraction(2, 100)
"""Dimensions beside others in one label that give the same area within this share are those in the other unit."""
MIXED = re.compile(rf"(?:(?P<whole>\d+(?:\.\d+)?)(?:[\s-]*(?P<after>{PART}))?|(?P<part>{PART}))")

Sides = tuple[Fraction, Fraction]


def room_dimensions(label: str) -> list[Sides]:
    """The two sides in metres of every room whose dimensions stand in `label`; exact."""
    found: list[Sides] = []
    for match in DIMENSIONS.finditer(label):
        sides = _sides(match)
        if 0 not in sides and not any(_is_same_room(sides, other) for other in found):
            found.append(sides)
    return found


def room_area_m2(labels: Iterable[str]) -> Fraction:
    """The areas of all rooms with dimensions, summed; 0 without any."""
    sides = [pair for label in labels for pair in room_dimensions(label)]
    return sum((across * along for across, along in sides), Fraction(0))


def length_m(text: str) -> Fraction | None:
    """A single length (12'-4½", 7 ft, 30", 3.76 m) in metres, exact; None when `text` is none."""
    text = text.strip()
    if re.fullmatch(IMPERIAL, text, re.IGNORECASE):
        return _imperial(text)
    metric = re.fullmatch(rf"({NUMBER})\s*({UNIT})", text, re.IGNORECASE)
    return _decimal(metric.group(1)) * METRES[metric.group(2).lower()] if metric else None


def _sides(match: re.Match[str]) -> Sides:
    if match["first"]:
        return _imperial(match["first"]), _imperial(match["second"])
    last = match["last"].lower()
    first = (match["unit"] or last).lower()
    return _decimal(match["one"]) * METRES[first], _decimal(match["other"]) * METRES[last]


def _imperial(text: str) -> Fraction:
    if feet := FEET.fullmatch(text):
        return _decimal(feet["feet"]) * METRES_PER_FOOT + _inches(feet["inches"] or "0") * METRES_PER_INCH
    inches = ONLY_INCHES.fullmatch(text)
    return _inches(inches["inches"]) * METRES_PER_INCH if inches else Fraction(0)


def _inches(text: str) -> Fraction:
    mixed = MIXED.fullmatch(text)
    if mixed is None:
        return Fraction(0)
    return Fraction(mixed["whole"] or 0) + _part(mixed["after"] or mixed["part"])


def _part(text: str | None) -> Fraction:
    if not text:
        return Fraction(0)
    above, below = VULGAR.get(text, text).replace("⁄", "/").split("/")
    return Fraction(int(above), int(below)) if int(below) else Fraction(0)


def _decimal(text: str) -> Fraction:
    return Fraction(text.replace(",", "."))


def _is_same_room(one: Sides, other: Sides) -> bool:
    area, known = one[0] * one[1], other[0] * other[1]
    return abs(area - known) <= SAME_ROOM * known
