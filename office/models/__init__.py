from .errand import Errand
from .event import ActorKind, Event
from .link import CapabilityLink, LinkUse, Purpose
from .notice import Enclosure, Notice, NoticeState
from .numbering import NumberSeries
from .office import AreaUnitChoice, Office
from .once import OnceKey
from .person import Person, Role
from .state import Stateful

__all__ = [
    "ActorKind",
    "AreaUnitChoice",
    "CapabilityLink",
    "Enclosure",
    "Errand",
    "Event",
    "LinkUse",
    "Notice",
    "NoticeState",
    "NumberSeries",
    "Office",
    "OnceKey",
    "Person",
    "Purpose",
    "Role",
    "Stateful",
]
