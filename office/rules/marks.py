"""The shape and the look of each state word: one table, so that a shape means the same on every page."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Mark:
    """`shape` names a drawing in templates/parts/state.html; `look` is calm, good, waiting, bad or over."""

    shape: str
    look: str


PLAIN = Mark("dash", "calm")

MARKS = {
    # not yet firm: an open ring
    "pencilled": Mark("ring", "waiting"),
    "offered": Mark("ring", "waiting"),
    "draft": Mark("ring", "calm"),
    "to_send": Mark("ring", "waiting"),
    "waiting": Mark("ring", "calm"),
    "open": Mark("ring", "waiting"),
    "proposed": Mark("ring", "waiting"),
    "being_made": Mark("ring", "calm"),
    # under way with somebody: half a disc
    "with_drafter": Mark("half", "calm"),
    "asked": Mark("half", "waiting"),
    "issued": Mark("half", "calm"),
    "captured": Mark("half", "calm"),
    # firm: a disc
    "confirmed": Mark("disc", "good"),
    "active": Mark("disc", "good"),
    # come back, for us to look at: a lozenge
    "to_check": Mark("lozenge", "waiting"),
    "returned": Mark("lozenge", "waiting"),
    "unsure": Mark("lozenge", "bad"),
    "part_paid": Mark("lozenge", "waiting"),
    # finished well: a tick
    "accepted": Mark("tick", "good"),
    "settled": Mark("tick", "good"),
    "done": Mark("tick", "good"),
    "sent": Mark("tick", "good"),
    "handed_over": Mark("tick", "good"),
    "closed": Mark("tick", "over"),
    # over without it: a cross
    "cancelled": Mark("cross", "over"),
    "declined": Mark("cross", "over"),
    "lapsed": Mark("cross", "over"),
    "withdrawn": Mark("cross", "over"),
    "void": Mark("cross", "over"),
    "waived": Mark("cross", "over"),
    "replaced": Mark("cross", "over"),
    "failed": Mark("cross", "bad"),
    "no_access": Mark("cross", "bad"),
    # needs somebody: a peak
    "must": Mark("peak", "bad"),
    "overdue": Mark("peak", "bad"),
    "late": Mark("peak", "bad"),
    "should": Mark("square", "waiting"),
}


def mark_of(code: str) -> Mark:
    return MARKS.get(code, PLAIN)
