"""What the axes of a mesh file mean: a statement in words to a rotation.

Stage      survey
Units      none: the rotation is orthonormal
Source     ISO 4130 axes as used throughout: X rearward, Y to the right, Z up
Safe side  a statement that mirrors the vehicle is refused, never guessed right
"""

from __future__ import annotations

import re
from typing import Final

import numpy as np

from routecut.errors import OutOfRangeError
from routecut.model.job import Vec3, vec3
from routecut.plain import shown

DIRECTIONS: Final[dict[str, Vec3]] = {
    "front": (-1.0, 0.0, 0.0),
    "rear": (1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
"""Direction words as unit vectors in ISO 4130 axes."""

ALLOWED: Final = 'three statements such as "+x rear, +y right, +z up": each of x, y, z once, each with ' + (
    "one of " + ", ".join(DIRECTIONS)
)

_STATEMENT = re.compile(r"\s*([+-]?)\s*([xyzXYZ])\s+([A-Za-z]+)\s*")


def parse_axes(text: str) -> tuple[Vec3, Vec3, Vec3]:
    """The rotation that a statement about a file's axes stands for.

    Parameters
    ----------
    text : str
        Three statements, in any order, parted by commas: ``+x rear, +y right, +z up``.

    Returns
    -------
    (3, 3) tuple of float
        Rows of the matrix that takes file coordinates to ISO 4130 axes; a rotation
        (determinant +1).

    Raises
    ------
    OutOfRangeError
        The text is no such statement, names an axis or a direction twice, or mirrors.

    Examples
    --------
    >>> parse_axes("+y up, +z rear, +x right")
    ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    """
    columns: dict[str, np.ndarray] = {}
    for part in text.split(","):
        match = _STATEMENT.fullmatch(part)
        if match is None:
            raise OutOfRangeError(f"{shown(part.strip())} is not understood")
        sign, axis, word = match[1], match[2].lower(), match[3].lower()
        if word not in DIRECTIONS:
            raise OutOfRangeError(f"{shown(word)} is no direction")
        if axis in columns:
            raise OutOfRangeError(f"{axis} is named twice")
        columns[axis] = np.array(DIRECTIONS[word]) * (-1.0 if sign == "-" else 1.0)
    missing = [axis for axis in "xyz" if axis not in columns]
    if missing:
        raise OutOfRangeError(f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} not named")
    matrix = np.column_stack([columns[axis] for axis in "xyz"])
    determinant = round(float(np.linalg.det(matrix)))
    if determinant == 0:
        raise OutOfRangeError("two axes are said to point along the same line of the vehicle")
    if determinant < 0:
        raise OutOfRangeError("these axes are left-handed and would mirror the vehicle; one sign is wrong")
    # adding zero turns -0.0 into 0.0
    rows = [tuple(float(v) + 0.0 for v in row) for row in matrix]
    return (vec3(rows[0]), vec3(rows[1]), vec3(rows[2]))
