"""Who acts: a person of the office, the holder of a link, or the program itself."""

from dataclasses import dataclass

from office.models import ActorKind, CapabilityLink, Person


@dataclass(frozen=True)
class Actor:
    """The one who acts, as the event log will name them."""

    kind: ActorKind
    name: str
    person: Person | None = None
    link: CapabilityLink | None = None

    @classmethod
    def of_person(cls, person: Person) -> "Actor":
        return cls(ActorKind.PERSON, str(person), person=person)

    @classmethod
    def of_link(cls, link: CapabilityLink) -> "Actor":
        return cls(ActorKind.LINK, link.holder_name, link=link)


PROGRAM = Actor(ActorKind.PROGRAM, "Stairhead")
VISITOR = Actor(ActorKind.LINK, "Visitor of the order page")
