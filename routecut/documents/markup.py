"""HTML by way of a tree: text is escaped by the serializer, so no name can become a tag."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Mapping
from importlib import resources
from types import MappingProxyType
from typing import Final
from xml.etree import ElementTree  # only builds and writes; nothing is parsed

from routecut.plain import plain

Child = ElementTree.Element | str | None
Children = Iterable["Child"]

_NONE: Final[Mapping[str, str]] = MappingProxyType({})


def el(tag: str, *children: Child | Children, **attributes: str) -> ElementTree.Element:
    """An element with its children.

    Parameters
    ----------
    tag : str
    *children : Element, str, None, or iterables of these
        Text goes through `plain`; None is left out.
    **attributes : str
        ``class_`` stands for ``class``; an underscore inside a name becomes a hyphen.

    Examples
    --------
    >>> html(el("p", "a < b", class_="x"))
    '<p class="x">a &lt; b</p>'
    """
    named = {k.rstrip("_").replace("_", "-"): plain(v) for k, v in attributes.items()}
    element = ElementTree.Element(tag, named)
    for child in children:
        if child is None or isinstance(child, str | ElementTree.Element):
            _add(element, child)
        else:
            for grandchild in child:
                _add(element, grandchild)
    return element


def _add(parent: ElementTree.Element, child: Child) -> None:
    if child is None:
        return
    if isinstance(child, ElementTree.Element):
        parent.append(child)
        return
    text = plain(child)
    if len(parent):
        parent[-1].tail = (parent[-1].tail or "") + text
    else:
        parent.text = (parent.text or "") + text


def html(element: ElementTree.Element) -> str:
    """The element as HTML text."""
    return ElementTree.tostring(element, encoding="unicode", method="html")


def document(
    *, title: str, style: str, body: Children, script: str = "", data: Mapping[str, str] = _NONE
) -> str:
    """A whole page: one style sheet and one script by their hashes, pictures as data, nothing else allowed.

    Parameters
    ----------
    title : str
    style, script : str
        CSS and JavaScript; ours, never a user's.
    body : iterable of children
    data : mapping of str to str
        Blocks for the script by their id: JSON without ``<``, ``>`` and ``&``, which is never run.
    """
    policy = ["default-src 'none'", "img-src data:", f"style-src '{_hash(style)}'"]
    if script:
        policy.append(f"script-src '{_hash(script)}'")
    policy += ["base-uri 'none'", "form-action 'none'"]
    head = el(
        "head",
        el("meta", charset="utf-8"),
        ElementTree.Element("meta", {"http-equiv": "Content-Security-Policy", "content": "; ".join(policy)}),
        el("meta", name="viewport", content="width=device-width, initial-scale=1"),
        el("meta", name="referrer", content="no-referrer"),
        el("title", title),
        _raw("style", style),
    )
    blocks = [_raw("script", text, type="application/json", id=key) for key, text in data.items()]
    scripts = [*blocks, _raw("script", script)] if script else []
    return "<!doctype html>\n" + html(el("html", head, el("body", body, scripts), lang="en")) + "\n"


def _raw(tag: str, text: str, **attributes: str) -> ElementTree.Element:
    """Style or script as it is: the serializer leaves these alone, the hashes depend on it."""
    element = el(tag, **attributes)
    element.text = text
    return element


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}"


def asset(name: str) -> str:
    """The text of a file in `routecut/documents/assets`."""
    return (resources.files("routecut.documents") / "assets" / name).read_text(encoding="utf-8")


def data_uri(picture: bytes) -> str:
    """A PNG picture as a ``data:`` address."""
    return "data:image/png;base64," + base64.b64encode(picture).decode("ascii")
