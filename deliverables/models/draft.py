"""Drafts: what came back from a drafter, kept byte for byte, and a picture of each page."""

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from .plan_order import PlanOrder


class CheckState(models.TextChoices):
    WAITING = "waiting", _("Being checked")
    DONE = "done", _("Checked")
    FAILED = "failed", _("Could not be checked")


def draft_path(draft: "Draft", filename: str) -> str:
    """Where a draft is kept: a name of ours, never the sender's."""
    return f"drafts/{draft.plan_order.number}/{uuid.uuid4().hex}"


class Draft(models.Model):
    """One numbered version of a plan as received, kept byte for byte, with what the plan check found.

    `pin_changes` says for each fix, by its key, whether anything has changed at its pin since Draft `compared_with`.
    """

    plan_order = models.ForeignKey(PlanOrder, models.PROTECT, related_name="drafts")
    number = models.PositiveSmallIntegerField()
    file = models.FileField(upload_to=draft_path)
    file_name = models.CharField(max_length=160)
    content_type = models.CharField(max_length=80)
    size = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    note = models.TextField(blank=True)
    received_at = models.DateTimeField()
    received_from = models.CharField(max_length=160)
    drawn_by_us = models.BooleanField(_("we drew this one ourselves"), default=False)
    check_state = models.CharField(max_length=8, choices=CheckState, default=CheckState.WAITING)
    check_result = models.JSONField(default=dict)
    checked_at = models.DateTimeField(null=True, blank=True)
    compared_with = models.PositiveSmallIntegerField(null=True, blank=True)
    pin_changes = models.JSONField(default=dict)

    class Meta:
        ordering = ["plan_order", "-number"]
        constraints = [models.UniqueConstraint(fields=["plan_order", "number"], name="draft_number_once")]

    def __str__(self) -> str:
        return f"Draft {self.number}"

    @property
    def is_waiting(self) -> bool:
        return self.check_state == CheckState.WAITING


def preview_path(page: "DraftPage", filename: str) -> str:
    return f"previews/{page.draft_id}/{uuid.uuid4().hex}.png"


class DraftPage(models.Model):
    """A picture of one page of a draft, made by us, to look at and to pin fixes on."""

    draft = models.ForeignKey(Draft, models.CASCADE, related_name="pages")
    number = models.PositiveSmallIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    file = models.FileField(upload_to=preview_path)

    class Meta:
        ordering = ["draft", "number"]
        constraints = [models.UniqueConstraint(fields=["draft", "number"], name="page_number_once")]

    def __str__(self) -> str:
        return f"Page {self.number}"
