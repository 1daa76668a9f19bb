from .client import Client, ClientKind
from .package import AddOn, Covers, Package, PackageTask, Severity
from .property import AreaSource, Grade, Level, Opening, OpeningKind, Property, Space, SpaceKind
from .shoot import BUSY_STATES, CrewMember, Shoot, ShootAddOn, ShootState
from .walk import EditingTask, Pass, Station, TaskState

__all__ = [
    "BUSY_STATES",
    "AddOn",
    "AreaSource",
    "Client",
    "ClientKind",
    "Covers",
    "CrewMember",
    "EditingTask",
    "Grade",
    "Level",
    "Opening",
    "OpeningKind",
    "Package",
    "PackageTask",
    "Pass",
    "Property",
    "Severity",
    "Shoot",
    "ShootAddOn",
    "ShootState",
    "Space",
    "SpaceKind",
    "Station",
    "TaskState",
]
