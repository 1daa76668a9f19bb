"""What is missing or wrong in a logged walk, from a PROPERTY and a WALK file."""

from dataclasses import asdict
from typing import Any

from django.core.management.base import CommandParser

from jobs.rules.property_shape import read_property, taken_package
from jobs.rules.walk import read_walk
from jobs.rules.walkcheck import Misclosure, check_walk
from jobs.rules.walkfindings.log import MILLIMETRE
from office.management.rule_command import RuleCommand
from office.rules.money import half_up


class Command(RuleCommand):
    help = "What is missing or wrong in a logged walk, and which stations the public tour must not show."

    def add_files(self, parser: CommandParser) -> None:
        parser.add_argument("property", metavar="PROPERTY.json", help="levels, spaces, openings, entrance")
        parser.add_argument("walk", metavar="WALK.csv", help="station,level,space,pass,pair_of,opening,ties_to,x,y")
        parser.add_argument("--package", metavar="tour|plan|both", help="what the client ordered")

    def compute(self, options: dict[str, Any]) -> dict[str, Any]:
        package = taken_package(options["package"])
        shape = read_property(options["property"])
        verdict = check_walk(shape, read_walk(options["walk"], shape), package)
        return {
            "stations": verdict.stations,
            "keep_out": list(verdict.keep_out),
            "tour_pieces": verdict.tour_pieces,
            "misclosures": [_misclosure(found) for found in verdict.misclosures],
            "findings": [asdict(finding) for finding in verdict.findings],
        }

    def table(self, answer: dict[str, Any]) -> list[str]:
        kept_out = ", ".join(map(str, answer["keep_out"])) or "none"
        return [
            f"{'stations':<12} {answer['stations']}",
            f"{'keep out':<12} {kept_out}",
            f"{'tour pieces':<12} {answer['tour_pieces']}",
            *(
                f"{'misclosure':<12} {m['station']} to {m['ties_to']}: {m['distance_m']} m"
                for m in answer["misclosures"]
            ),
            *(f"{f['severity']:<6} {f['code']:<19} {f['text']}" for f in answer["findings"]),
        ]


def _misclosure(found: Misclosure) -> dict[str, Any]:
    distance = half_up(found.distance_m, MILLIMETRE)
    return {"station": found.station, "ties_to": found.ties_to, "distance_m": f"{distance:f}"}
