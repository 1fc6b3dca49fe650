"""What the desks share: base page, style sheet, template tags."""

from __future__ import annotations

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Label ``web``; no tables of its own."""

    name = "sillway.web"
    label = "web"
