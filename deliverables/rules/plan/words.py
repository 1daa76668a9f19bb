"""Pieces of text on a page, and the labels they make: words side by side are a line, lines under another a label."""

from dataclasses import dataclass

BESIDE = 0.6
APART = 0.12
"""Gaps between pieces on one line, in heights of the text: closer than `BESIDE` they are one line, wider than `APART`
a space lies between them."""
UNDER = 0.9
OVERLAP = 0.3


@dataclass(frozen=True)
class Word:
    """A piece of text and its box on the page, in points, y upwards."""

    text: str
    left: float
    bottom: float
    right: float
    top: float

    @property
    def is_upright(self) -> bool:
        """Whether the text runs across the page and not up or down it."""
        return self.right - self.left >= self.top - self.bottom or len(self.text) < 3

    def turned(self) -> "Word":
        """The word with the page turned so that text running up runs across."""
        return Word(self.text, self.bottom, -self.right, self.top, -self.left)


def lines_of(words: tuple[Word, ...]) -> list[Word]:
    """The words joined to lines, in the order in which they were drawn."""
    lines: list[Word] = []
    for word in words:
        if lines and _follows(word, lines[-1]):
            lines[-1] = _joined(lines[-1], word, " " if _gap(lines[-1], word) > APART * _height(word) else "")
        else:
            lines.append(word)
    return lines


def labels_of(lines: list[Word]) -> list[str]:
    """The lines joined to labels: a room's name and its dimensions under it are one."""
    upright = [line for line in lines if line.is_upright]
    turned = [line.turned() for line in lines if not line.is_upright]
    return [label.text for label in (*_stacked(upright), *_stacked(turned))]


def _stacked(lines: list[Word]) -> list[Word]:
    labels: list[Word] = []
    for line in sorted(lines, key=lambda line: -line.top):
        home = next((n for n, label in enumerate(labels) if _is_under(line, label)), None)
        if home is None:
            labels.append(line)
        else:
            labels[home] = _joined(labels[home], line, "\n")
    return labels


def _follows(word: Word, line: Word) -> bool:
    height = min(_height(word), _height(line))
    level = abs(word.bottom - line.bottom) < 0.5 * height
    return word.is_upright and line.is_upright and level and -0.5 * height < _gap(line, word) < BESIDE * height


def _is_under(line: Word, label: Word) -> bool:
    shared = min(line.right, label.right) - max(line.left, label.left)
    narrower = min(line.right - line.left, label.right - label.left)
    gap = label.bottom - line.top
    return shared >= OVERLAP * narrower and -0.5 * _height(line) <= gap <= UNDER * _height(line)


def _gap(line: Word, word: Word) -> float:
    return word.left - line.right


def _height(word: Word) -> float:
    return max(word.top - word.bottom, 0.1)


def _joined(one: Word, other: Word, between: str) -> Word:
    return Word(
        one.text + between + other.text,
        min(one.left, other.left),
        min(one.bottom, other.bottom),
        max(one.right, other.right),
        max(one.top, other.top),
    )
