"""Noise is read off a mesh and smoothed away; edges stay sharp, boxes keep their size.

Truth      bodies whose noise is added here, and distances to the bodies without it
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from routecut.geometry.sheets import Sheets
from routecut.survey.roughness import LEAST_M, LEFT, noise_sigma_m, smoothed
from tests.damage import ways
from tests.damage.cabin import Parts, cabin
from tests.worlds.shapes import Floats, around, box, extruded, merged


def joined(parts: Parts) -> tuple[Floats, np.ndarray]:
    """Vertices and faces; parts stay apart."""
    vertices, faces, count = [], [], 0
    for triangles in parts.values():
        mesh = merged(triangles)
        vertices.append(mesh["vertices"])
        faces.append(mesh["faces"] + count)
        count += len(mesh["vertices"])
    return np.concatenate(vertices), np.concatenate(faces)


@pytest.mark.parametrize("most", [0.001, 0.002, 0.005])
@pytest.mark.parametrize("cell", [0.02, 0.04])
def test_noise_is_found_and_most_of_it_smoothed_away(most: float, cell: float) -> None:
    clean = cabin(cell)
    vertices, faces = joined(ways.rough(clean, most))
    sigma = noise_sigma_m(vertices, faces)
    # evenly spread noise reads a little larger than its sigma: its median does
    assert sigma == pytest.approx(most / np.sqrt(3), rel=0.2)
    after = smoothed(vertices, faces, sigma)
    off = Sheets(np.concatenate(list(clean.values()))).closest(after, 0.05)[0]
    assert np.sqrt((off**2).mean()) <= LEFT * sigma
    assert np.linalg.norm(after - vertices, axis=1).max() <= 3 * sigma * (1 + 1e-9)


def test_winding_and_place_mean_nothing() -> None:
    vertices, faces = joined(ways.rough(cabin(0.05), 0.003))
    sigma = noise_sigma_m(vertices, faces)
    turned = faces.copy()
    turned[::2] = turned[::2, ::-1]
    assert noise_sigma_m(vertices, turned) == pytest.approx(sigma, rel=1e-9)
    assert smoothed(vertices, turned, sigma) == pytest.approx(smoothed(vertices, faces, sigma), abs=1e-9)
    motion = Rotation.from_euler("xyz", (20, 50, 70), degrees=True).as_matrix()
    assert noise_sigma_m(vertices @ motion.T + 3.0, faces) == pytest.approx(sigma, rel=1e-6)


def test_a_box_keeps_its_size() -> None:
    size = (1.0, 0.8, 0.6)
    vertices, faces = joined(ways.rough({"box": box((0, 0, 0), size, cell=0.03)}, 0.003))
    after = smoothed(vertices, faces, noise_sigma_m(vertices, faces))
    low, high = np.percentile(after, (1, 99), axis=0)
    assert high - low == pytest.approx(size, rel=0.005)


@pytest.mark.parametrize(
    "parts",
    [
        {"box": box((0, 0, 0), (1, 1, 1), cell=0.04)},
        {"tube": extruded(around(0.3, 48), 0, (0, 2), 60)},
        {"few": box((0, 0, 0), (1, 1, 1), cell=0.5)},
        cabin(0.05),
    ],
)
def test_a_body_as_drawn_has_no_noise(parts: Parts) -> None:
    assert noise_sigma_m(*joined(parts)) < LEAST_M / 4
