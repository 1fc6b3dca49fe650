"""The store as a Django app."""

from __future__ import annotations

from django.apps import AppConfig


class StoreConfig(AppConfig):
    """Label ``store``: its tables are named ``store_…``."""

    name = "sillway.store"
    label = "store"
    default_auto_field = "django.db.models.BigAutoField"
