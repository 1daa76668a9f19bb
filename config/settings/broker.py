"""Celery's broker: Redis where there is one, else files in a folder."""

from pathlib import Path
from typing import Any


def redis_broker(url: str) -> dict[str, Any]:
    """A Redis or Valkey broker; without the restore interval a killed worker's messages come back ten times later."""
    return {
        "CELERY_BROKER_URL": url,
        "CELERY_BROKER_TRANSPORT_OPTIONS": {"visibility_timeout": 60, "unacked_restore_interval": 1},
    }


def file_broker(folder: Path) -> dict[str, Any]:
    """A broker that needs no server. It may lose what a killed worker held, so a message is only ever a nudge."""
    for name in ("queue", "control"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    return {
        "CELERY_BROKER_URL": "filesystem://",
        "CELERY_BROKER_TRANSPORT_OPTIONS": {
            "data_folder_in": str(folder / "queue"),
            "data_folder_out": str(folder / "queue"),
            "control_folder": str(folder / "control"),
            "store_processed": False,
            "polling_interval": 0.1,
        },
    }
