"""CPU time of one climb with every value in its tolerance: medians over repeats.

.venv/bin/python bench/ramp.py
"""

from __future__ import annotations

import statistics
import time

from sillway.fit.ramp import (
    Bar,
    Contact,
    Given,
    Overhead,
    Profile,
    SideBody,
    box,
    climb_interval,
    ramp_profile,
)

REPEATS = 15
G = Given


def way(tol: float) -> tuple[Profile, Overhead]:
    """A ramp 1.5 m long up 300 mm, under a header and a ceiling."""
    profile = ramp_profile(
        G(300.0, tol), (G(1500.0, tol),), lip_mm=G(8.0, tol / 6), gap_mm=G(6.0, tol / 4)
    )
    bars = (
        Bar("header", G(-30.0), G(0.0), G(1500.0, tol)),
        Bar("ceiling", G(0.0), G(2500.0), G(1450.0, tol)),
    )
    return profile, Overhead(bars)


def chair(tol: float, travel_mm: float | None) -> SideBody:
    """Two wheels, anti-tipper and footplate; or sprung casters either side of the drive wheels."""
    plate = Contact("plate", G(600.0, 2 * tol), G(8.0), G(90.0, tol), rolls=False)
    if travel_mm is None:
        wheels = (
            Contact("drive", G(0.0), G(300.0), drive=True),
            Contact("caster", G(450.0, 2 * tol), G(75.0)),
            Contact("anti", G(-250.0, 2 * tol), G(25.0), G(40.0, tol), rolls=False, anti_tip=True),
        )
    else:
        wheels = (
            Contact("drive", G(0.0), G(170.0), drive=True),
            *(
                Contact(
                    "caster", G(x, 2 * tol), G(75.0),
                    travel_up_mm=travel_mm, travel_down_mm=travel_mm,
                )
                for x in (380.0, -360.0)
            ),
        )  # fmt: skip
    more = {"tol_x_mm": 2 * tol, "tol_z_mm": tol}
    parts = (
        box("frame", (-250.0, 370.0), (110.0, 120.0), tol_z_mm=tol),
        box("torso", (-200.0, 240.0), (450.0, 1100.0), **more),
        box("head", (-90.0, 130.0), (1050.0, 1300.0), **more),
    )
    return SideBody((*wheels, plate), parts, (20.0, 170.0), (480.0, 560.0))


def main() -> None:
    """Print the medians."""
    for name, travel in (("two wheels", None), ("six wheels, rigid", 0.0), ("six, sprung", 15.0)):
        for tol in (0.0, 3.0, 13.0):
            body, (profile, over) = chair(tol, travel), way(tol)
            took = []
            for _ in range(REPEATS):
                before = time.process_time()
                got = climb_interval(body, profile, over, 1, 900.0)
                took.append(1e3 * (time.process_time() - before))
            ends = ", ".join(
                f"{n} {getattr(got, n).lower:.1f}..{getattr(got, n).upper:.1f} mm"
                for n in ("header", "belly", "foot")
            )
            print(f"{name}, +-{tol:.0f} mm: {statistics.median(took):.0f} ms CPU; {ends}")


if __name__ == "__main__":
    main()
