"""Studies with long names and titles, for test_every_figure.py; and how dimensions are named."""

import numpy as np

from photonsim.results.files.study_table import Column, StudyTable
from photonsim.studies.points import path_label

TITLE = "two crossed films from the broken screen, walls of mirror card, the moon above the mill"
FIGURES = (("collected_lm", "collected", "lm"), ("near", "near-axis fraction", "%"),
           ("uniformity", "uniformity", ""), ("darkest_edge", "darkest edge", ""),
           ("structure", "structure", "%"), ("rms_angle_deg", "RMS angle", "°"))  # fmt: skip
PARAMETERS = ("film strips offset", "film strips width", "objective_front_lens z",
              "emitters_of_the_upper_row pitch")  # fmt: skip
SHARES = {
    f"{what} {figure} p{k}": value
    for figure, *_ in FIGURES
    for k in range(4)
    for what, value in (("share", 0.2 + 0.1 * k), ("share error", 0.05))
}


def study(kind, parameters, facts=None, flag=""):
    count = len(parameters[0])
    luck = np.random.default_rng(1)
    columns = [
        Column(f"p{k}", PARAMETERS[k], "mm", "parameter", values)
        for k, values in enumerate(parameters)
    ]
    columns += [
        Column(name, words, unit, "figure", luck.uniform(1, 2, count) * 10**k, np.full(count, 0.01))
        for k, (name, words, unit) in enumerate(FIGURES)
    ]
    if flag:
        columns.append(Column(flag, flag, "", "fact", luck.integers(0, 2, count).astype(float)))
    return StudyTable(kind, TITLE, "", tuple(columns), facts or {})


def spread(number, count=30):
    return list(np.random.default_rng(2).uniform(0.0, 30.0, (number, count)))


GRID = [part.ravel() for part in np.meshgrid([1.0, 2.0, 3.0, 4.0], [10.0, 20.0, 30.0])]
LIMITS = {"limit uniformity": 150.0, "limit darkest_edge": 1500.0}
STUDIES = {
    "curves": study("sweep", spread(1)),
    "map": study("sweep", GRID),
    "parallel": study("sweep", spread(4)),
    "search": study(
        "tune", spread(3), {"goal collected_lm": 1.0, "sense": 1.0, **LIMITS}, "within_limits"
    ),
    "front": study(
        "front", spread(3), {"goal collected_lm": 1.0, "goal structure": 1.0}, "on_front"
    ),
    "tolerance": study("tolerance", spread(4), {"yield": 0.7, **SHARES}),
}


def test_a_dimension_is_named_with_its_part():
    """'strips offset' beside 'film z' would leave open whose strips."""
    paths = ["train.film.strips.offset_mm", "train.film.z_mm", "housing.width_mm"]
    labels = [path_label(path, paths) for path in paths]
    assert labels == ["film strips offset", "film z", "housing width"]
    twice = ["train.lamp.z_mm", "emitters.lamp.z_mm"]
    assert [path_label(path, twice) for path in twice] == ["train lamp z", "emitters lamp z"]
