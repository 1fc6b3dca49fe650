"""Pairs have pages, but their lists are the match's."""

from __future__ import annotations

from sillway.web.desks import Desk

DESK = Desk("fits/", "", "rider.see", "match:start", 26, ("sillway.web.fits.tasks",))
