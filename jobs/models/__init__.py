from .client import Client, ClientKind
from .entry_code import EntryCode, EntryKind
from .package import AddOn, Covers, Package, PackageTask, Severity
from .property import AreaSource, Caution, Grade, Level, Opening, OpeningKind, Property, Space, SpaceKind
from .shoot import BUSY_STATES, CrewMember, Shoot, ShootAddOn, ShootState
from .walk import EditingTask, Pass, PhotoNote, RemovedStation, Station, TaskState
from .walk_settings import WalkSettings

__all__ = [
    "BUSY_STATES",
    "AddOn",
    "AreaSource",
    "Caution",
    "Client",
    "ClientKind",
    "Covers",
    "CrewMember",
    "EditingTask",
    "EntryCode",
    "EntryKind",
    "Grade",
    "Level",
    "Opening",
    "OpeningKind",
    "Package",
    "PackageTask",
    "Pass",
    "PhotoNote",
    "Property",
    "RemovedStation",
    "Severity",
    "Shoot",
    "ShootAddOn",
    "ShootState",
    "Space",
    "SpaceKind",
    "Station",
    "TaskState",
    "WalkSettings",
]
