"""The plan check and the comparison of drafts in a process of their own, under caps of memory and time.

Drafts come from outside and are read by large decoders; whatever a file does to them, it does to that process alone.
The process is `python -m deliverables.rules.sandbox`: a line of JSON and the files on standard input, JSON on standard
output. It may write no file, and dies of too much memory, processor time or waiting (`PlanLimits`).
"""

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from pathlib import Path
from typing import Any

from .compare import Comparison, Pin, compare_drafts, comparison_from, comparison_json
from .plan.limits import PlanLimits, Unreadable
from .plan.names import ExpectedNames, ExpectedSpace
from .plan.verdict import PlanVerdict, verdict_from, verdict_json
from .plancheck import check_plan, refused

ROOT = Path(__file__).resolve().parent.parent.parent
ENVIRONMENT = {"PYTHONUTF8": "1", "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
"""One thread: the cap on memory counts every thread's reserve, and nothing of the parent's environment is passed on."""
GRACE = 5
"""Seconds beyond the processor time, for starting and for handing over the files."""


def check_plan_apart(
    source: Path | str | bytes,
    property: ExpectedNames | None = None,
    stated_area_m2: Decimal | None = None,
    contacts: Sequence[str] = (),
    limits: PlanLimits | None = None,
) -> PlanVerdict:
    """`plancheck.check_plan` apart: a file that costs too much or brings the process down is `unreadable`."""
    limits = limits or PlanLimits()
    known = {
        "property": asdict(property) if property else None,
        "stated_area_m2": None if stated_area_m2 is None else f"{stated_area_m2:f}",
        "contacts": list(contacts),
    }
    try:
        told = _ask("plancheck", known, [_content(source, limits)], limits)
    except Unreadable as refusal:
        return refused(str(refusal))
    return verdict_from(told["answer"], tuple(told["notes"]))


def compare_drafts_apart(
    old: Path | str | bytes, new: Path | str | bytes, pins: Sequence[Pin] = (), limits: PlanLimits | None = None
) -> Comparison:
    """`compare.compare_drafts` apart; raises `Unreadable` also for files that cost too much."""
    limits = limits or PlanLimits()
    known = {"pins": [{**asdict(pin), "x": f"{pin.x:f}", "y": f"{pin.y:f}"} for pin in pins]}
    told = _ask("draftdiff", known, [_content(old, limits), _content(new, limits)], limits)
    return comparison_from(told["answer"], told["old_pages"])


def _content(source: Path | str | bytes, limits: PlanLimits) -> bytes:
    if isinstance(source, bytes):
        return source[: limits.most_bytes + 1]
    with Path(source).open("rb") as file:
        return file.read(limits.most_bytes + 1)


def _ask(task: str, known: dict[str, Any], files: list[bytes], limits: PlanLimits) -> dict[str, Any]:
    request = {"task": task, "known": known, "sizes": [len(file) for file in files], "limits": asdict(limits)}
    try:
        done = subprocess.run(  # noqa: S603 - our own module, with no word of the sender's on the command line
            [sys.executable, "-m", __name__],
            input=b"\n".join([json.dumps(request).encode(), b"".join(files)]),
            capture_output=True,
            cwd=ROOT,
            env=ENVIRONMENT,
            timeout=limits.seconds + GRACE,
            check=True,
        )
        told = json.loads(done.stdout)
    except (subprocess.TimeoutExpired, subprocess.CalledProcessError, ValueError):
        megabytes = limits.memory_bytes // 1_000_000
        raise Unreadable(f"The file could not be read within {limits.seconds} s and {megabytes} MB.") from None
    if "refusal" in told:
        raise Unreadable(told["refusal"], told["file"])
    return dict(told)


def main() -> None:
    """The process apart."""
    request = json.loads(sys.stdin.buffer.readline())
    limits = PlanLimits(**request["limits"])
    _cap(limits)
    files = [sys.stdin.buffer.read(size) for size in request["sizes"]]
    answer = _checked if request["task"] == "plancheck" else _compared
    try:
        told = answer(files, request["known"], limits)
    except Unreadable as refusal:
        told = {"refusal": str(refusal), "file": refusal.file}
    sys.stdout.write(json.dumps(told))


def _cap(limits: PlanLimits) -> None:
    import resource

    for kind, most in (
        (resource.RLIMIT_AS, limits.memory_bytes),
        (resource.RLIMIT_CPU, limits.seconds),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(kind, (most, most))


def _checked(files: list[bytes], known: dict[str, Any], limits: PlanLimits) -> dict[str, Any]:
    names, area = known["property"], known["stated_area_m2"]
    verdict = check_plan(
        files[0],
        names and ExpectedNames(tuple(names["levels"]), tuple(ExpectedSpace(**space) for space in names["spaces"])),
        None if area is None else Decimal(area),
        known["contacts"],
        limits,
    )
    return {"answer": verdict_json(verdict), "notes": list(verdict.notes)}


def _compared(files: list[bytes], known: dict[str, Any], limits: PlanLimits) -> dict[str, Any]:
    pins = [Pin(pin["id"], pin["page"], Decimal(pin["x"]), Decimal(pin["y"])) for pin in known["pins"]]
    comparison = compare_drafts(files[0], files[1], pins, limits)
    return {"answer": comparison_json(comparison), "old_pages": comparison.old_pages}


if __name__ == "__main__":
    main()
