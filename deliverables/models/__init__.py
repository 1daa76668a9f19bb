from .bundle import Bundle, BundleItem, BundleState, ItemKind, Receipt, ReceiptKind, ReleaseRule, waiting_for_a_bundle
from .draft import CheckState, Draft, DraftPage
from .drafter import Drafter
from .fix_request import FixKind, FixRequest, FixState
from .plan_order import MeasuringRule, PlanOrder, PlanOrderState, waiting_for_an_order

__all__ = [
    "Bundle",
    "BundleItem",
    "BundleState",
    "CheckState",
    "Draft",
    "DraftPage",
    "Drafter",
    "FixKind",
    "FixRequest",
    "FixState",
    "ItemKind",
    "MeasuringRule",
    "PlanOrder",
    "PlanOrderState",
    "Receipt",
    "ReceiptKind",
    "ReleaseRule",
    "waiting_for_a_bundle",
    "waiting_for_an_order",
]
