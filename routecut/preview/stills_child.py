"""Run as a child: a plan and a body come in pickled, the pictures go out pickled."""

from __future__ import annotations

import pickle
import sys

from routecut.preview.views import draw_views

if __name__ == "__main__":
    plan, body = pickle.load(sys.stdin.buffer)  # noqa: S301 - written by our own parent just now
    answer = sys.stdout.buffer
    sys.stdout = sys.stderr  # a library that prints must not get between the pictures
    answer.write(pickle.dumps(draw_views(plan, body)))
