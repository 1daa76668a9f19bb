"""What the upper floors hang up on the ground floor: desk matters, job sections, search, chores, errands.

An app fills it in its `AppConfig.ready()`; the ground floor never imports what is above it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.http import HttpRequest

QUICK = "notices"
"""The queue of everything that is done in a moment."""


@dataclass(frozen=True)
class Matter:
    """One thing on the desk: what, why it is there, since when, how costly waiting is, and its one action."""

    key: str
    text: str
    why: str
    since: datetime
    url: str
    action: str
    weight: int
    """Cost of waiting: 100 is money or a promise lost today, 10 can wait a week."""


@dataclass(frozen=True)
class JobSection:
    """One part of the job page. `context` gets the request and the shoot's id and feeds `template`."""

    order: int
    slug: str
    title: str
    template: str
    context: Callable[[HttpRequest, int], dict[str, Any]]


@dataclass(frozen=True)
class Found:
    """One search result."""

    kind: str
    text: str
    hint: str
    url: str


@dataclass
class Registry:
    matters: list[Callable[[datetime], Iterable[Matter]]] = field(default_factory=list)
    sections: list[JobSection] = field(default_factory=list)
    searches: list[Callable[[str], Iterable[Found]]] = field(default_factory=list)
    chores: list[Callable[[datetime], object]] = field(default_factory=list)
    errands: dict[str, Callable[[int], object]] = field(default_factory=dict)
    slow_errands: dict[str, str] = field(default_factory=dict)
    """Kind of errand → the queue of its own that it waits in, so that it never delays a notice."""
    landings: dict[str, str] = field(default_factory=dict)
    """Purpose of a capability link → name of the page it opens, which takes the subject's id."""

    def kinds_in(self, queue: str) -> list[str]:
        """The kinds of errands that wait in a queue."""
        return [kind for kind in self.errands if self.slow_errands.get(kind, QUICK) == queue]

    def job_sections(self) -> list[JobSection]:
        return sorted(self.sections, key=lambda section: section.order)

    def desk(self, now: datetime) -> list[Matter]:
        """Everything that needs a person now, most costly first, then oldest first."""
        matters = [matter for source in self.matters for matter in source(now)]
        return sorted(matters, key=lambda matter: (-matter.weight, matter.since))


registry = Registry()
