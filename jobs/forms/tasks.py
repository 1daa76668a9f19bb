"""Editing tasks of one job."""

from django import forms
from django.utils.translation import gettext_lazy as _

from jobs.models import EditingTask
from office.forms.base import PlainForm, RowForm, local_moment


class TaskNoteForm(PlainForm):
    note = forms.CharField(label=_("Note"), max_length=200, required=False)


class TaskWithdrawForm(PlainForm):
    why = forms.CharField(label=_("Why it need not be done"), max_length=200)


class OwnTaskForm(RowForm):
    """One more thing to do, on this job alone."""

    due_at = local_moment(label=_("Due"), required=False)

    class Meta:
        model = EditingTask
        fields = ["text", "severity"]
        labels = {"severity": _("Weight")}
