"""The typefaces of papers, embedded: IBM Plex Sans Condensed, and Noto Sans for the letters it lacks."""

from functools import lru_cache
from importlib.util import find_spec
from itertools import groupby
from pathlib import Path
from xml.sax.saxutils import escape

from reportlab.lib.fonts import addMapping
from reportlab.pdfbase.pdfmetrics import getFont, registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD, ITALIC, OTHER = "PlanSans", "PlanSans-Bold", "PlanSans-Italic", "PlanSans-Other"

_PLEX, _NOTO = "fontpkg_ibm_plex_sans_condensed", "fontpkg_noto_sans"
_FILES = {
    REGULAR: (_PLEX, "IBMPlexSansCondensed-Regular.ttf"),
    BOLD: (_PLEX, "IBMPlexSansCondensed-SemiBold.ttf"),
    ITALIC: (_PLEX, "IBMPlexSansCondensed-Italic.ttf"),
    OTHER: (_NOTO, "NotoSans[wdth,wght].ttf"),
}


@lru_cache(maxsize=1)
def use_fonts() -> None:
    """Make the faces known to reportlab; call it before anything is measured or drawn."""
    for name, (package, file) in _FILES.items():
        registerFont(TTFont(name, str(_folder_of(package) / file)))
    for bold, italic, face in ((0, 0, REGULAR), (1, 0, BOLD), (0, 1, ITALIC), (1, 1, BOLD)):
        addMapping(REGULAR, bold, italic, face)
        addMapping(OTHER, bold, italic, OTHER)


def _folder_of(package: str) -> Path:
    spec = find_spec(package)
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError(f"the typefaces of {package} are not installed")
    return Path(spec.origin).parent / "files"


def marked_up(words: str) -> str:
    """Plain words as reportlab's markup: escaped, line by line, and what the first face lacks set in the second."""
    return "<br/>".join("".join(_marked(face, run) for face, run in runs(line)) for line in words.splitlines())


def runs(words: str, face: str = REGULAR) -> list[tuple[str, str]]:
    """The words in pieces, each with the face that has its letters; what cannot be printed becomes a space."""
    printable = "".join(letter if letter.isprintable() else " " for letter in words)
    return [(OTHER if lacking else face, "".join(run)) for lacking, run in groupby(printable, key=_is_lacking)]


def width_of(words: str, face: str, size: float) -> float:
    """The width of one line, in points."""
    return sum(stringWidth(run, run_face, size) for run_face, run in runs(words, face))


def _marked(face: str, run: str) -> str:
    return f'<font name="{OTHER}">{escape(run)}</font>' if face == OTHER else escape(run)


def _is_lacking(letter: str) -> bool:
    return ord(letter) not in _letters_of(REGULAR) and ord(letter) in _letters_of(OTHER)


@lru_cache(maxsize=2)
def _letters_of(name: str) -> frozenset[int]:
    use_fonts()
    return frozenset(getFont(name).face.charToGlyph)
