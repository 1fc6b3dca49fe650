"""Rolling up the ramp, seen from the side: exact contact geometry and statics.

Knows nothing of records: it takes its own small types and gives margins with proved ends.
"""

from sillway.fit.ramp.body import Bar, Contact, Overhead, SideBody, SidePart, box
from sillway.fit.ramp.climb import Climb, Margin, Pose, climb, climb_interval, pose_at
from sillway.fit.ramp.forces import (
    G_N_PER_KG,
    hold_force_n,
    loads_n,
    push_force_n,
    tip_angle_rad,
)
from sillway.fit.ramp.profile import Given, Profile, Segment, ramp_profile

__all__ = [
    "G_N_PER_KG",
    "Bar",
    "Climb",
    "Contact",
    "Given",
    "Margin",
    "Overhead",
    "Pose",
    "Profile",
    "Segment",
    "SideBody",
    "SidePart",
    "box",
    "climb",
    "climb_interval",
    "hold_force_n",
    "loads_n",
    "pose_at",
    "push_force_n",
    "ramp_profile",
    "tip_angle_rad",
]
