from .bundle import Bundle, BundleItem, BundleState, ItemKind, Receipt, ReleaseRule
from .drafter import Drafter
from .plan_order import CheckState, Draft, FixKind, FixRequest, FixState, PlanOrder, PlanOrderState

__all__ = [
    "Bundle",
    "BundleItem",
    "BundleState",
    "CheckState",
    "Draft",
    "Drafter",
    "FixKind",
    "FixRequest",
    "FixState",
    "ItemKind",
    "PlanOrder",
    "PlanOrderState",
    "Receipt",
    "ReleaseRule",
]
