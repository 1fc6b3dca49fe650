"""Photos have addresses, no list."""

from __future__ import annotations

from sillway.web.desks import Desk

DESK = Desk("photos/", "", "lot.see", "lot:lot", 12)
