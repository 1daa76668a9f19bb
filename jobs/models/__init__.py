from .client import Client, ClientKind
from .diary import CrewHours, DiaryRules, Leave, TimedDrive
from .entry_code import EntryCode, EntryKind
from .package import AddOn, Covers, Package, PackageTask, Severity
from .property import AreaSource, Caution, Grade, Level, Opening, OpeningKind, Property, Space, SpaceKind
from .shoot import BUSY_STATES, CrewMember, Shoot, ShootAddOn, ShootState
from .visit import CheckIn, KitTick, MessageKind, NoAccessNote, PastVisit, Stage, Tried, VisitMessage
from .walk import EditingTask, Pass, PhotoNote, RemovedStation, Station, TaskState
from .walk_settings import WalkSettings

__all__ = [
    "BUSY_STATES",
    "AddOn",
    "AreaSource",
    "Caution",
    "CheckIn",
    "Client",
    "ClientKind",
    "Covers",
    "CrewHours",
    "CrewMember",
    "DiaryRules",
    "EditingTask",
    "EntryCode",
    "EntryKind",
    "Grade",
    "KitTick",
    "Leave",
    "Level",
    "MessageKind",
    "NoAccessNote",
    "Opening",
    "OpeningKind",
    "Package",
    "PackageTask",
    "Pass",
    "PastVisit",
    "PhotoNote",
    "Property",
    "RemovedStation",
    "Severity",
    "Shoot",
    "ShootAddOn",
    "ShootState",
    "Space",
    "SpaceKind",
    "Stage",
    "Station",
    "TaskState",
    "TimedDrive",
    "Tried",
    "VisitMessage",
    "WalkSettings",
]
