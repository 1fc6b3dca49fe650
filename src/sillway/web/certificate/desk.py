"""An address, no list."""

from __future__ import annotations

from sillway.web.desks import Desk

DESK = Desk("lot.crt", "", "lot.see", "lot:lot", 99)
