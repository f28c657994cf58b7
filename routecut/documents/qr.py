"""A QR code as a drawing in the page: one path, black on white."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import segno

from routecut.documents.markup import el
from routecut.plain import plain

QUIET = 2
"""Modules left white all round: the paper does the rest of the four that ISO/IEC 18004 asks for."""


def qr(text: str) -> Element:
    """The code of a short text, at 15 % error correction, with the text as its name."""
    rows = list(segno.make(plain(text), micro=False, error="m", boost_error=False).matrix_iter(border=QUIET))
    drawn = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, dark in enumerate(row) if dark)
    path = el("path", d=drawn, fill="#000")
    return el(
        "svg", path, viewBox=f"0 0 {len(rows)} {len(rows)}", class_="qr paper", role="img", aria_label=text
    )
