"""Statics on the slope: pushing, holding, tipping, wheel loads. N, kg, mm, rad."""

from __future__ import annotations

import math

G_N_PER_KG = 9.80665  # standard gravity, exact by definition (CGPM 1901)


def push_force_n(mass_kg: float, slope_rad: float, rolling: float) -> float:
    """Force along the slope that keeps a chair moving up: m g (sin a + mu cos a).

    Source: mechanics of an incline. ``rolling`` is the rolling-resistance coefficient mu.

    >>> round(push_force_n(120.0, math.atan(1 / 6), 0.015), 4)
    210.8762
    """
    return mass_kg * G_N_PER_KG * (math.sin(slope_rad) + rolling * math.cos(slope_rad))


def hold_force_n(mass_kg: float, slope_rad: float, rolling: float) -> float:
    """Force along the slope that keeps a chair from running down: m g (sin a - mu cos a), or 0.

    >>> hold_force_n(100.0, 0.01, 0.02)
    0.0
    """
    pull = math.sin(slope_rad) - rolling * math.cos(slope_rad)
    return max(0.0, mass_kg * G_N_PER_KG * pull)


def tip_angle_rad(lever_mm: float, height_mm: float) -> float:
    """Angle through which a body can still turn before its centre of mass is above the contact.

    ``lever_mm`` is how far, level, the centre of mass is on the safe side of the contact;
    ``height_mm`` how far above it. Negative once past. Source: a block on an incline tips when
    tan a = half its length over the height of its centre of mass.

    >>> round(math.degrees(tip_angle_rad(200.0, 600.0)), 3)
    18.435
    """
    return math.atan2(lever_mm, height_mm)


def loads_n(
    mass_kg: float, com_x_mm: float, rear_x_mm: float, front_x_mm: float
) -> tuple[float, float]:
    """Upright loads on two contacts by moments: (rear, front); one is negative when tipping.

    All x in the same level frame, contacts apart; the horizontal push is taken to act at the
    ground, where it has no moment.

    >>> [round(n, 3) for n in loads_n(100.0, 200.0, 0.0, 500.0)]
    [588.399, 392.266]
    """
    weight = mass_kg * G_N_PER_KG
    front = weight * (com_x_mm - rear_x_mm) / (front_x_mm - rear_x_mm)
    return weight - front, front
