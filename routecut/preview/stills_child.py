"""Run as a child: a plan and a body come in, the pictures go out."""

from __future__ import annotations

import sys

from routecut.preview.handing import from_bytes, to_bytes
from routecut.preview.views import draw_views

if __name__ == "__main__":
    plan, body = from_bytes(sys.stdin.buffer.read())
    answer = sys.stdout.buffer
    sys.stdout = sys.stderr  # a library that prints must not get between the pictures
    answer.write(to_bytes(draw_views(plan, body)))
