"""What the desks share: base page, style sheet, template tags."""

from __future__ import annotations

from django.apps import AppConfig


class WebConfig(AppConfig):
    """Label ``web``; no tables of its own."""

    name = "sillway.web"
    label = "web"

    def ready(self) -> None:
        """Let every process know the names of the desks' background work."""
        from sillway.web.desks import load_tasks

        load_tasks()
