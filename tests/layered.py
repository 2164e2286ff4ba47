"""Layout of a graph in layers: every arrow goes down, crosses few others, and runs straight."""

from __future__ import annotations

import random
from itertools import pairwise
from typing import NamedTuple

Arrows = dict[str, set[str]]
Path = tuple[str, ...]


class Layout(NamedTuple):
    """The nodes of each layer from left to right, the lowest first, and the ways of the arrows.

    An arrow that passes a layer by has a bend there: a node of its own, in no key of the arrows.
    """

    layers: list[list[str]]
    ways: list[Path]


def without_detours(arrows: Arrows) -> Arrows:
    """Leave out each arrow to a node that can also be reached by way of others."""

    def below(node: str) -> set[str]:
        return arrows[node].union(*(below(other) for other in arrows[node]))

    return {
        node: direct - set().union(*(below(other) for other in direct))
        for node, direct in arrows.items()
    }


def laid_out(arrows: Arrows, tries: int = 200) -> Layout:
    """Put nodes as low as their arrows allow; of many orders keep the one with fewest crossings."""
    height: dict[str, int] = {}

    def rise(node: str) -> int:
        if node not in height:
            height[node] = max((rise(other) + 1 for other in arrows[node]), default=0)
        return height[node]

    for node in arrows:
        rise(node)
    layers: list[list[str]] = [[] for _ in range(max(height.values()) + 1)]
    for node in sorted(arrows):
        layers[height[node]].append(node)
    ways = []
    for node in sorted(arrows):
        for other in sorted(arrows[node]):
            between = range(height[node] - 1, height[other], -1)
            bends = [f"{node}>{other}@{level}" for level in between]
            for level, bend in zip(between, bends, strict=True):
                layers[level].append(bend)
            ways.append((node, *bends, other))
    steps = [step for way in ways for step in pairwise(way)]
    chance = random.Random(1)
    best, fewest = layers, _crossings(layers, steps)
    for _ in range(tries):
        order = [chance.sample(layer, len(layer)) for layer in layers]
        for _ in range(8):
            _sweep(order, steps)
        if (crossings := _crossings(order, steps)) < fewest:
            best, fewest = order, crossings
    return Layout(best, ways)


def _crossings(layers: list[list[str]], steps: list[Path]) -> int:
    place = {node: (level, k) for level, layer in enumerate(layers) for k, node in enumerate(layer)}
    ends = [(*place[up], place[down][1]) for up, down in steps]
    return sum(
        a[0] == b[0] and (a[1] - b[1]) * (a[2] - b[2]) < 0
        for k, a in enumerate(ends)
        for b in ends[:k]
    )


def _sweep(layers: list[list[str]], steps: list[Path]) -> None:
    """Put the nodes of each layer in the order of the middles of those above, then of those below.

    Sugiyama, Tagawa and Toda, IEEE Trans. Syst. Man Cybern. 11, 109 (1981): from memory.
    """
    for towards in (0, 1):
        others: dict[str, list[str]] = {}
        for step in steps:
            others.setdefault(step[1 - towards], []).append(step[towards])
        place = {node: float(k) for layer in layers for k, node in enumerate(layer)}
        for layer in reversed(layers) if towards == 0 else layers:
            middle = {
                node: sum(place[o] for o in others[node]) / len(others[node])
                if node in others
                else place[node]
                for node in layer
            }
            layer.sort(key=lambda node: middle[node])
            place |= {node: float(k) for k, node in enumerate(layer)}


def places(layout: Layout, widths: dict[str, float], gap: float) -> dict[str, float]:
    """Return the middle of every node sideways: near those it is joined to, `gap` from the next."""
    near: dict[str, list[str]] = {node: [] for layer in layout.layers for node in layer}
    for way in layout.ways:
        for up, down in pairwise(way):
            # A bend weighs more, so that long arrows run straight.
            for _ in range(4 if ">" in up and ">" in down else 1):
                near[up].append(down)
                near[down].append(up)
    x = dict.fromkeys(near, 0.0)
    for _ in range(60):
        for layer in (*layout.layers, *reversed(layout.layers)):
            wished = [sum(x[o] for o in near[n]) / len(near[n]) if near[n] else x[n] for n in layer]
            x |= zip(layer, _apart(wished, [widths[node] for node in layer], gap), strict=True)
    return x


def _apart(wished: list[float], widths: list[float], gap: float) -> list[float]:
    """Return the places in the same order nearest to those wished that keep their distances.

    Less their distances they must not fall: pool those that do (isotonic regression).
    """
    offsets = [0.0]
    for one, other in pairwise(widths):
        offsets.append(offsets[-1] + (one + other) / 2.0 + gap)
    pools: list[tuple[float, int]] = []
    for place, offset in zip(wished, offsets, strict=True):
        pools.append((place - offset, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (one, n), (other, m) = pools[-2:]
            pools[-2:] = [((one * n + other * m) / (n + m), n + m)]
    level = [place for place, n in pools for _ in range(n)]
    return [place + offset for place, offset in zip(level, offsets, strict=True)]
