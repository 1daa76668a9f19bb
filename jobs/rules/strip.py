"""One person's day as a strip of hours: where to draw the working hours, the visits and the drives around them.

Minutes are counted from local midnight; what is drawn has an x and a width in the units of the strip.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

HOUR = 60
USUAL = (7 * HOUR, 19 * HOUR)
LETTER = 6.6
"""Width of a letter of the page's typeface at the size that strips use, in units of a full-width strip."""


@dataclass(frozen=True)
class Scale:
    """From a full hour to a full hour, `width` units wide; what lies outside is drawn at the edge."""

    first: int
    last: int
    width: int

    def x(self, minute: int) -> float:
        within = min(max(minute, self.first), self.last) - self.first
        return round(within * self.width / (self.last - self.first), 2)

    def bar(self, start: int, end: int) -> "Bar":
        return Bar(self.x(start), round(self.x(end) - self.x(start), 2))

    def hours(self) -> list[tuple[float, int]]:
        """Where each full hour stands, and which it is."""
        return [(self.x(minute), minute // HOUR % 24) for minute in range(self.first, self.last + 1, HOUR)]


@dataclass(frozen=True)
class Bar:
    x: float
    width: float


@dataclass(frozen=True)
class Span:
    """A visit with its drives: leaves for it, first arrival, last arrival, last leaving, back or free again."""

    leaves: int
    begins: int
    window_end: int
    ends: int
    back: int


@dataclass(frozen=True)
class Drawn:
    """A visit on the strip. `window` is the part within which the crew may arrive; `label` is what fits on it."""

    there: Bar
    visit: Bar
    window: Bar
    back: Bar
    label: str


def scale_of(spans: Iterable[Span], open_hours: Iterable[tuple[int, int]], width: int) -> Scale:
    """Wide enough for the usual day, for everybody's hours and for every visit with its drives."""
    edges = [*USUAL]
    edges += [edge for opens, closes in open_hours for edge in (opens, closes)]
    edges += [edge for span in spans for edge in (span.leaves, span.back)]
    return Scale(max(min(edges), 0) // HOUR * HOUR, -(-min(max(edges), 48 * HOUR) // HOUR) * HOUR, width)


def drawn(scale: Scale, span: Span, words: Sequence[str] = ()) -> Drawn:
    """Where the visit stands; `words` are labels, the fullest first, of which the first that fits is taken."""
    visit = scale.bar(span.begins, span.ends)
    fitting = (word for word in words if len(word) * LETTER <= visit.width - LETTER)
    return Drawn(
        there=scale.bar(span.leaves, span.begins),
        visit=visit,
        window=scale.bar(span.begins, span.window_end),
        back=scale.bar(span.ends, span.back),
        label=next(fitting, ""),
    )
