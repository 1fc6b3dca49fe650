"""The desk of what has not arrived yet. Its addresses stand at the root, where a worker must."""

from __future__ import annotations

from sillway.web.desks import Desk

DESK = Desk("", "", "van.see", "offline:waiting", 98, ("sillway.web.offline.photos",))
