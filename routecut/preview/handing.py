"""Plans, bodies and pictures as bytes, to hand them to a child process and back.

Stage      preview, between `children` and the processes it starts
Safe side  plain JSON and plain arrays: reading it makes the classes of `routecut.model` and nothing else,
           so that bytes from wherever can't make anything happen
"""

from __future__ import annotations

import importlib
import io
import json
import pkgutil
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import routecut.model

_TEXT = "text"


def to_bytes(thing: object) -> bytes:
    """A value as bytes: texts, figures, tuples, lists, sets, mappings, paths, arrays, and classes of the model.

    Raises
    ------
    TypeError
        Something else is in it.
    """
    arrays: list[Any] = []
    text = json.dumps(_packed(thing, arrays)).encode()
    held = io.BytesIO()
    named: dict[str, Any] = {f"a{number}": array for number, array in enumerate(arrays)}
    named[_TEXT] = np.frombuffer(text, dtype=np.uint8)
    np.savez(held, **named)
    return held.getvalue()


def from_bytes(raw: bytes) -> Any:
    """What `to_bytes` made bytes of.

    Raises
    ------
    ValueError, KeyError, TypeError
        These are no such bytes.
    """
    with np.load(io.BytesIO(raw), allow_pickle=False) as held:
        return _unpacked(json.loads(held[_TEXT].tobytes()), held)


def _packed(thing: Any, arrays: list[Any]) -> Any:
    match thing:
        case Enum():
            return {"e": type(thing).__name__, "is": thing.value}
        case None | bool() | int() | float() | str():
            return thing
        case np.ndarray() if thing.dtype != object:
            arrays.append(thing)
            return {"a": len(arrays) - 1}
        case np.generic():
            return thing.item()
        case bytes():
            arrays.append(np.frombuffer(thing, dtype=np.uint8))
            return {"b": len(arrays) - 1}
        case Path():
            return {"p": str(thing)}
        case tuple() | list() | frozenset():
            kind = {tuple: "t", list: "l", frozenset: "s"}[type(thing)]
            return {kind: [_packed(item, arrays) for item in thing]}
        case dict():
            return {"d": [[_packed(k, arrays), _packed(v, arrays)] for k, v in thing.items()]}
        case _ if is_dataclass(thing) and _known().get(type(thing).__name__) is type(thing):
            held = {f.name: _packed(getattr(thing, f.name), arrays) for f in fields(thing)}
            return {"c": type(thing).__name__, "is": held}
        case _:
            raise TypeError(f"{type(thing).__name__} can't be handed on")


def _unpacked(thing: Any, arrays: Any) -> Any:
    if not isinstance(thing, dict):
        return thing
    match next(iter(thing.items())):
        case "e", name:
            return _known()[name](thing["is"])
        case "c", name:
            return _known()[name](**{key: _unpacked(value, arrays) for key, value in thing["is"].items()})
        case "a", number:
            return arrays[f"a{number}"]
        case "b", number:
            return arrays[f"a{number}"].tobytes()
        case "p", text:
            return Path(text)
        case "t", items:
            return tuple(_unpacked(item, arrays) for item in items)
        case "l", items:
            return [_unpacked(item, arrays) for item in items]
        case "s", items:
            return frozenset(_unpacked(item, arrays) for item in items)
        case "d", items:
            return {_unpacked(k, arrays): _unpacked(v, arrays) for k, v in items}
    raise ValueError("these bytes were not made here")


@cache
def _known() -> dict[str, type]:
    """Every class of the model by its name."""
    found: dict[str, type] = {}
    for module in pkgutil.iter_modules(routecut.model.__path__):
        for name, value in vars(importlib.import_module(f"routecut.model.{module.name}")).items():
            ours = isinstance(value, type) and value.__module__.startswith("routecut.model.")
            if ours and found.setdefault(name, value) is not value:
                raise TypeError(f"two classes of the model are called {name}")
    return found
