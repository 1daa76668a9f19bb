"""The pages of a draft as pictures with voids and pins on them, in the picture's own pixels."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from deliverables.models import Draft, DraftPage, FixRequest

PIN_SHARE = 60
"""A pin's radius is this part of the picture's longer side."""


@dataclass(frozen=True)
class Pin:
    """A fix's number on the drawing."""

    fix: FixRequest
    x: int
    y: int


@dataclass(frozen=True)
class Box:
    """A void on the drawing."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True)
class Sheet:
    """One page as it is shown."""

    number: int
    width: int
    height: int
    url: str
    voids: list[Box]
    pins: list[Pin]

    @property
    def pin_radius(self) -> int:
        return max(self.width, self.height) // PIN_SHARE

    @property
    def pin_text(self) -> int:
        return self.pin_radius * 5 // 4


def sheets_of(draft: Draft, fixes: Iterable[FixRequest], address: Callable[[DraftPage], str]) -> list[Sheet]:
    """Every page of a draft; `address` says where its picture is."""
    fixes = list(fixes)
    checked = {page["number"]: page for page in draft.check_result.get("pages", [])}
    return [
        Sheet(
            number=page.number,
            width=page.width,
            height=page.height,
            url=address(page),
            voids=_voids(page, checked.get(page.number)),
            pins=[_pin(page, fix) for fix in fixes if fix.page == page.number and fix.x is not None],
        )
        for page in draft.pages.all()
    ]


def _pin(page: DraftPage, fix: FixRequest) -> Pin:
    return Pin(fix, round(fix.x * page.width), round(fix.y * page.height))


def _voids(page: DraftPage, checked: dict[str, Any] | None) -> list[Box]:
    """The check measured its own picture of the page; ours may be larger or smaller."""
    if not checked or not checked["voids"]:
        return []
    across, down = page.width / checked["width_px"], page.height / checked["height_px"]
    return [
        Box(
            x=round(void["x"] * across),
            y=round(void["y"] * down),
            width=max(1, round(void["width"] * across)),
            height=max(1, round(void["height"] * down)),
        )
        for void in checked["voids"]
    ]
