"""The jobs' desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from sillway.web.desks import Desk

DESK = Desk("jobs/", _("Long work"), "job.see", "jobs:jobs", 80, ("sillway.web.jobs.tasks",))
