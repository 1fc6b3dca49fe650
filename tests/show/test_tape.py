"""Every drawing of where the tape goes: whole, with its tape in it, and readable without sight."""

import math
import re
from xml.etree import ElementTree

import pytest

from sillway.show.draw.tape import tape_svg, views
from sillway.show.draw.tape_scenes import SCENES

NS = {"s": "http://www.w3.org/2000/svg"}


@pytest.mark.parametrize("name", views())
def test_a_drawing_shows_its_tape_heavy_and_says_what_it_is(name):
    svg = tape_svg(name, "Length & width", "Hold the tape <so>.")
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    assert root.find("s:title", NS).text == "Length & width"
    assert root.find("s:desc", NS).text == "Hold the tape <so>."
    heavy = [one for one in root.iter() if one.get("stroke-width") == "1.6"]
    view = views()[name]
    assert len(heavy) >= len(view.tapes) + len(view.spots) > 0


def rings_of(name):
    """Middles of the rings around letters, which are 4 mm wide and as drawn."""
    root = ElementTree.fromstring(tape_svg(name, "t", "s"))
    found = [one for one in root.iter(f"{{{NS['s']}}}circle")
             if one.get("r") == "4" and one.get("stroke-width") == "0.5"]  # fmt: skip
    return [(float(one.get("cx")), float(one.get("cy"))) for one in found]


@pytest.mark.parametrize("name", views())
def test_letters_of_one_drawing_are_told_apart_and_do_not_cover_each_other(name):
    view = views()[name]
    letters = [one.letter for one in view.tapes if one.letter]
    assert len(set(letters)) == len(letters)
    assert len(letters) in (0, len(view.tapes))
    assert len(rings_of(name)) >= len(letters)
    rings = rings_of(name)
    for k, one in enumerate(rings):
        assert all(math.dist(one, other) >= 8.0 for other in rings[k + 1 :]), name


def test_every_scene_is_used_and_exists():
    assert {view.scene for view in views().values()} <= set(SCENES)
    assert {view.scene for view in views().values()} >= set(SCENES) - {"chair_front"}


def test_a_tape_has_its_true_direction_and_length():
    """A level tape of 500 cm at 0.17 mm per cm lies level and is 85 mm long."""
    svg = tape_svg("outside-length", "t", "s")
    root = ElementTree.fromstring(svg)
    (line,) = [one for one in root.iter(f"{{{NS['s']}}}line") if one.get("stroke-width") == "1.6"]
    assert line.get("y1") == line.get("y2")
    assert abs(float(line.get("x2")) - float(line.get("x1"))) == pytest.approx(85.0, abs=0.02)


def test_no_drawing_styles_itself_past_the_content_policy():
    for name in views():
        assert not re.search(r"<style|style=|<script|href=", tape_svg(name, "t", "s"))
