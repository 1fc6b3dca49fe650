"""The search box stands on every page; its answers have no place in the list of desks."""

from __future__ import annotations

from sillway.web.desks import Desk

DESK = Desk("find/", "", "lot.see", "find:find", 90)
