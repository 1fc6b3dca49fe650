"""Vans have pages, but their list is the lot's."""

from __future__ import annotations

from sillway.web.desks import Desk

DESK = Desk("vans/", "", "van.see", "lot:lot", 11)
