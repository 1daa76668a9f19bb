"""Whether a visitor can step from any station of the public tour to any other."""

from collections.abc import Iterator, Sequence

from jobs.rules.walk import Station
from jobs.rules.walkfindings.log import Finding, WalkLog
from jobs.rules.walkfindings.pieces import Pieces

Piece = tuple[Station, ...]
MOST_NAMED = 6


def tour_pieces(log: WalkLog) -> tuple[Piece, ...]:
    """The stations shown, in the pieces they fall into without the keep-out list; the largest first, then by number.

    Two stations are linked when they stand in one space, in spaces joined by an opening that no shown station has
    closed, or follow one another on a stair chain; and, where both have coordinates, lie within the limit.
    """
    pieces = Pieces(log.shown, [station.spot for station in log.stations], log.limits.tour_link_m)
    for group, beside in _open_to_each_other(log):
        pieces.join(group, beside)
    for before, place in _stair_links(log):
        pieces.join((before,), (place,))
    found = (tuple(log.stations[place] for place in piece) for piece in pieces.found())
    return tuple(sorted(found, key=lambda piece: (-len(piece), piece[0].number)))


def tour_in_pieces(log: WalkLog, pieces: Sequence[Piece]) -> Iterator[Finding]:
    """One finding, at the first station of the largest piece that is cut off."""
    if len(pieces) > 1:
        cut_off = "; ".join(_where(log, piece) for piece in pieces[1:MOST_NAMED])
        more = "; and more" if len(pieces) > MOST_NAMED else ""
        text = (
            f"The tour falls into {len(pieces)} pieces. Cut off: {cut_off}{more}."
            " Add a tour station in the way, or leave a door between open."
        )
        yield log.find("tour-in-pieces", "must", pieces[1][0], text)


def _where(log: WalkLog, piece: Piece) -> str:
    """ "Garage and Utility (stations 12, 13)"."""
    spaces = list(dict.fromkeys(log.space_label(station.space) for station in piece))
    numbers = [str(station.number) for station in piece]
    word = "station" if len(numbers) == 1 else "stations"
    return f"{_listed(spaces, ' and ')} ({word} {_listed(numbers, ', ')})"


def _listed(words: Sequence[str], last: str) -> str:
    if len(words) > MOST_NAMED:
        return f"{', '.join(words[:MOST_NAMED])} and {len(words) - MOST_NAMED} more"
    return last.join(filter(None, (", ".join(words[:-1]), words[-1])))


def shown_closed(log: WalkLog) -> frozenset[str]:
    """The openings that the tour shows closed: named by a tour station, or closed by the second of a pair."""
    shown = [log.stations[place] for place in log.shown]
    numbers = {station.number for station in shown}
    by_pairs = {pair.opening_closed for pair in log.pairs if pair.closed_half.number in numbers}
    alone = {station.opening for station in shown if station.captured_for == "tour"}
    return frozenset(code for code in by_pairs | alone if code)


def _open_to_each_other(log: WalkLog) -> Iterator[tuple[list[int], list[int]]]:
    in_space: dict[str, list[int]] = {}
    for place in log.shown:
        in_space.setdefault(log.stations[place].space, []).append(place)
    yield from ((group, group) for group in in_space.values())
    closed = shown_closed(log)
    for opening in log.shape.openings:
        if opening.code not in closed:
            one, other = opening.between
            yield in_space.get(one, []), in_space.get(other, [])


def _stair_links(log: WalkLog) -> Iterator[tuple[int, int]]:
    visible = set(log.shown)
    for place in log.shown:
        before = _before(log, place)
        while before is not None and before not in visible:
            before = _before(log, before)
        if before is not None and _on_one_stair_chain(log, log.stations[before], log.stations[place]):
            yield before, place


def _before(log: WalkLog, place: int) -> int | None:
    """Where it was captured on from: the station it ties in to, else the one before it in the walk."""
    tied = log.tied(log.stations[place])
    if tied is not None:
        return log.place_of[tied.number]
    return place - 1 if place else None


def _on_one_stair_chain(log: WalkLog, one: Station, other: Station) -> bool:
    """Whether one of them stands on the steps, and the other where that stair starts or arrives."""
    return any(log.in_stair(stair) and _meets(log, stair, end) for stair, end in ((one, other), (other, one)))


def _meets(log: WalkLog, stair: Station, end: Station) -> bool:
    """Whether the stair leads to where `end` stands; a level on which it has no opening is met anywhere."""
    if not set(log.levels_of(stair)) & set(log.levels_of(end)):
        return False
    beside = [space for _, space in log.shape.neighbours(stair.space)]
    on_that_level = [space for space in beside if space.level in log.levels_of(end)]
    return not on_that_level or any(space.code == end.space for space in on_that_level)
