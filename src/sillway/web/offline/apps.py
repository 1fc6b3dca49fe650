"""The offline desk as an app, with the table of entries that arrived."""

from __future__ import annotations

from django.apps import AppConfig


class OfflineConfig(AppConfig):
    """Label ``offline``."""

    name = "sillway.web.offline"
    label = "offline"
