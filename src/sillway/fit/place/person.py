"""Where head, eyes and shoulders are: as measured, else from the top of the head."""

from __future__ import annotations

from collections.abc import Sequence

from sillway import rules
from sillway.fit.cite import cite
from sillway.fit.known import Basis, Known
from sillway.records.measure import Measure, Way
from sillway.records.rider import Body, Layer


def top_layer(layers: Sequence[Layer]) -> Layer:
    """The highest layer, which holds the head."""
    return max(layers, key=lambda layer: layer.top.value)


def top_of_head(basis: Basis, layers: Sequence[Layer]) -> Known:
    """Top of the highest layer above the floor."""
    top = top_layer(layers)
    return basis.known(f"chair.layers[{top.name}].top", top.top)


def _below_top(
    basis: Basis, name: str, measure: Measure | None, layers: Sequence[Layer], rule_id: str
) -> Known:
    if measure is not None:
        return basis.known(name, measure)
    low, high = rules.interval(rule_id, basis.on)
    top = top_of_head(basis, layers)
    typed = f"assumed ({rule_id})"
    return Known(
        name, top.low - high, top.high - low, "mm", Way.ASSUMED, typed, cite(basis, rule_id)
    )


def eye_height(basis: Basis, body: Body, layers: Sequence[Layer]) -> Known:
    """Height of the eyes above the floor."""
    return _below_top(basis, "body.eye_height", body.eye_height, layers, "assumed.eye.below_head")


def shoulder_height(basis: Basis, body: Body, layers: Sequence[Layer]) -> Known:
    """Height of the shoulders above the floor."""
    return _below_top(
        basis, "body.shoulder_height", body.shoulder_height, layers, "assumed.head.below"
    )


def head_front(basis: Basis, body: Body, layers: Sequence[Layer]) -> Known:
    """Frontmost point of the head from the wall; else the front of the highest layer."""
    if body.head_front_from_wall is not None:
        return basis.known("body.head_front_from_wall", body.head_front_from_wall)
    top = top_layer(layers)
    return basis.known(f"chair.layers[{top.name}].front", top.front)


def head_back(basis: Basis, body: Body, layers: Sequence[Layer]) -> Known:
    """Rearmost point of the head from the wall; else the back of the highest layer."""
    if body.head_back_from_wall is not None:
        return basis.known("body.head_back_from_wall", body.head_back_from_wall)
    top = top_layer(layers)
    return basis.known(f"chair.layers[{top.name}].back", top.back)
