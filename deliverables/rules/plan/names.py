"""Names of levels and spaces as drafters write them, and which of a property's names a draft does not show.

Two names are the same when their words are, after case, accents, abbreviations, ways of writing a number and the
word "room" are evened out: "Bedroom 2", "BR2", "BED 2" and "2nd bedroom"; "First floor" and "1ST FLR".
"""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .areas_text import AREA
from .dimensions import DIMENSIONS

OUTDOORS = "exterior"
ROOMS = frozenset({"room", "kitchen", "bathroom", "garage"})
"""The kinds of space without whose names a plan would not do."""

# common practice, no source: the short forms drafters use
SHORT_FORMS = {
    "bed": "bed bd bdr br bdrm bedrm bedroom bedrooms",
    "bath": "bath ba bth bathrm bathroom bathrooms",
    "kitchen": "kitchen kit ktch kitch kitchenette",
    "living": "living liv lvg",
    "dining": "dining din dng",
    "family": "family fam",
    "primary": "primary master principal prim mstr main",
    "closet": "closet cl clo clos clst cls",
    "garage": "garage gar",
    "storage": "storage stor sto strg store",
    "utility": "utility util utl",
    "laundry": "laundry laun lndry ldry",
    "pantry": "pantry pan ptry pntry",
    "entry": "entry ent entr entrance",
    "foyer": "foyer fyr foy",
    "hall": "hall hallway corridor corr",
    "office": "office off ofc",
    "mechanical": "mechanical mech",
    "powder": "powder pdr pwdr pwd pow",
    "wc": "wc toilet lavatory",
    "ensuite": "ensuite ens",
    "stair": "stair stairs stairway staircase stairwell up dn down",
    "balcony": "balcony balc",
    "terrace": "terrace terr",
    "basement": "basement bsmt bsm bmt",
    "lower": "lower lwr",
    "upper": "upper upr uppr",
    "ground": "ground gnd grd grnd",
    "level": "level lvl lev floor flr fl storey story",
    "room": "room rooms rm",
}
MEANS = {form: word for word, forms in SHORT_FORMS.items() for form in forms.split()}
SPELT_OUT = {
    "mbr": ("primary", "bed"),
    "mba": ("primary", "bath"),
    "wic": ("walkin", "closet"),
    "wi": ("walkin",),
    "gf": ("ground", "level"),
}
ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7, "eighth": 8}
NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10}
ROMAN = {"ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8, "ix": 9}
PIECE = re.compile(r"[^\W\d_]+|\d+")
ORDINAL_DIGITS = re.compile(r"\b(\d+)(?:st|nd|rd|th)\b")
INITIALS = re.compile(r"\b(?:[a-z]\.){2,}|\b[a-z](?:/[a-z])+\b")


@dataclass(frozen=True)
class ExpectedSpace:
    """A space that a draft should name; `is_room` when a plan without its name would not do."""

    name: str
    is_room: bool = True


@dataclass(frozen=True)
class ExpectedNames:
    """The names of a property's levels from the lowest up, and of its spaces."""

    levels: tuple[str, ...]
    spaces: tuple[ExpectedSpace, ...]


def expected_names(levels: Iterable[str], spaces: Iterable[tuple[str, str]]) -> ExpectedNames:
    """What a plan must name, from its levels' names and its spaces' (name, kind); outdoors is no part of a plan."""
    inside = ((name, kind) for name, kind in spaces if kind != OUTDOORS)
    return ExpectedNames(tuple(levels), tuple(ExpectedSpace(name, kind in ROOMS) for name, kind in inside))


@dataclass(frozen=True)
class MissingNames:
    """What of the expected names no label shows."""

    levels: tuple[str, ...]
    spaces: tuple[ExpectedSpace, ...]


def missing_names(expected: ExpectedNames, labels: Sequence[str]) -> MissingNames:
    """The names that `labels` do not show; a name expected twice must be shown twice, and longer names go first."""
    shown = [words_of(label) for label in labels]
    names = [*expected.levels, *(space.name for space in expected.spaces)]
    found = _found(names, shown)
    levels = tuple(name for name, is_found in zip(expected.levels, found, strict=False) if not is_found)
    rest = found[len(expected.levels) :]
    return MissingNames(levels, tuple(s for s, is_found in zip(expected.spaces, rest, strict=True) if not is_found))


def _found(names: Sequence[str], shown: list[list[str]]) -> list[bool]:
    words = [words_of(name) for name in names]
    found = [not name for name in words]
    for index in sorted(range(len(names)), key=lambda index: -len(words[index])):
        if words[index]:
            found[index] = _strike(words[index], shown)
    return found


def _strike(name: list[str], shown: list[list[str]]) -> bool:
    """Take one showing of `name` out of the labels, from the shortest label that has it; whether there was one."""
    for label in sorted(shown, key=len):
        for start in range(len(label) - len(name) + 1):
            if label[start : start + len(name)] == name:
                label[start : start + len(name)] = ["\n"]
                return True
    return False


def words_of(text: str) -> list[str]:
    """The words of a name or label that tell it from others, in their order, dimensions and areas left out."""
    plain = _without_figures(_folded(text))
    return _numbers_last(_without_room(_meanings(plain)))


def _folded(text: str) -> str:
    parts = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    return "".join(char for char in parts if not unicodedata.combining(char)).casefold()


def _without_figures(text: str) -> str:
    return AREA.sub("\n", DIMENSIONS.sub("\n", text))


def _meanings(text: str) -> list[str]:
    text = INITIALS.sub(lambda found: re.sub(r"[./]", "", found.group()) + " ", text)
    text = re.sub(r"\bwalk[\s-]*in\b", "walkin", text)
    text = re.sub(r"\ben[\s-]+suite\b", "ensuite", text)
    text = re.sub(r"\bl(?=\d)", "level ", ORDINAL_DIGITS.sub(r"ordinal \1", text))
    return [word for piece in PIECE.findall(text) for word in _meaning(piece)]


def _meaning(piece: str) -> Iterable[str]:
    if piece in SPELT_OUT:
        return SPELT_OUT[piece]
    if piece in ORDINALS:
        return ("ordinal", str(ORDINALS[piece]))
    number = NUMBERS.get(piece) or ROMAN.get(piece)
    if number or piece.isdecimal():
        return (str(number or piece.lstrip("0") or 0),)
    whole = piece.removesuffix("s") if piece.endswith("rooms") else piece
    stem = whole.removesuffix("room") or whole
    return (MEANS.get(stem, MEANS.get(piece, stem)),)


def _without_room(words: list[str]) -> list[str]:
    kept = [word for word in words if word != "room"]
    return kept if any(not word.isdecimal() for word in kept) else words


def _numbers_last(words: list[str]) -> list[str]:
    """ "ordinal 2 bed" as "bed 2"."""
    ordered: list[str] = []
    index = 0
    while index < len(words):
        if words[index] == "ordinal" and index + 2 < len(words):
            ordered += [words[index + 2], words[index + 1]]
            index += 3
        elif words[index] == "ordinal":
            index += 1
        else:
            ordered.append(words[index])
            index += 1
    return ordered
