"""A plan and a body come out of their bytes as they went in, and nothing else can."""

from __future__ import annotations

import io
import json
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routecut.model.job import CableClass
from routecut.preview.handing import from_bytes, to_bytes
from tests.documents import sample


def same(one: Any, other: Any) -> bool:
    """Equal to the last bit and of the same kinds, arrays included."""
    if type(one) is not type(other) and not (isinstance(one, np.generic) or isinstance(other, np.generic)):
        return False
    if isinstance(one, np.ndarray):
        return bool(one.dtype == other.dtype and one.shape == other.shape and (one == other).all())
    if is_dataclass(one):
        return all(same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(v, other[k]) for k, v in one.items())
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(same(a, b) for a, b in zip(one, other, strict=True))
    return bool(one == other)


def test_a_plan_and_its_body_come_out_as_they_went_in() -> None:
    whole = (sample.plan(), sample.body())
    assert same(from_bytes(to_bytes(whole)), whole)


@pytest.mark.parametrize(
    "thing",
    [
        None,
        (1, -2.5, "a\u202e", True),
        [CableClass.COAX, float("inf")],
        {"a.png": b"\x89PNG", "b": b""},
        frozenset({1, 2}),
        Path("a/b"),
        {(1, 2): np.arange(6.0).reshape(2, 3)},
    ],
)
def test_every_kind_of_value_comes_out_as_it_went_in(thing: Any) -> None:
    assert same(from_bytes(to_bytes(thing)), thing)


def test_what_is_not_of_the_model_is_not_handed_on() -> None:
    with pytest.raises(TypeError, match="can't be handed on"):
        to_bytes(object())
    with pytest.raises(TypeError, match="can't be handed on"):
        to_bytes(np.array([object()]))


@pytest.mark.parametrize(
    "said", [{"c": "Popen", "is": {}}, {"c": "os.system", "is": {"command": "x"}}, {"x": 1}]
)
def test_bytes_from_elsewhere_make_nothing(said: Any) -> None:
    held = io.BytesIO()
    np.savez(held, text=np.frombuffer(json.dumps(said).encode(), dtype=np.uint8))
    with pytest.raises((KeyError, ValueError)):
        from_bytes(held.getvalue())
    with pytest.raises(ValueError, match="pickle"):
        from_bytes(b"\x80\x04N.")
