"""Which number a station gets when two phones log one walk: the server's order decides."""

from collections.abc import Collection

FIRST = 1


def given_number(proposed: int, taken: Collection[int], after: int | None = None) -> int:
    """The proposed number where it is free and keeps the phone's own order, else the next after all.

    `after` is the number of the station that the same phone logged just before, when it is known: a walk goes by its
    numbers, so a later station of one phone never gets a lower number than an earlier one.
    """
    if proposed not in taken and (after is None or proposed > after):
        return proposed
    return next_number(taken)


def next_number(taken: Collection[int]) -> int:
    """The number that follows all that are taken."""
    return max(taken, default=FIRST - 1) + 1
