"""The desk of links as an app, with its tables."""

from __future__ import annotations

from django.apps import AppConfig


class ShareConfig(AppConfig):
    """Label ``share``."""

    name = "sillway.web.share"
    label = "share"
