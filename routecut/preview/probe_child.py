"""Run as a child: draws a sphere, looks at two pixels, says ``drawn``. May well crash."""

from __future__ import annotations

import sys

_SIZE = (80, 60)
_RED = (1.0, 0.0, 0.0)


def draws() -> bool:
    """A red sphere on white: red in the middle, white in the corner."""
    import pyvista

    plotter = pyvista.Plotter(off_screen=True, window_size=list(_SIZE))
    plotter.set_background("white")
    plotter.add_mesh(pyvista.Sphere(), color=_RED, lighting=False)
    plotter.render()
    picture = plotter.screenshot(return_img=True)
    plotter.close()
    middle, corner = picture[_SIZE[1] // 2, _SIZE[0] // 2], picture[0, 0]
    return bool(middle[0] > 200 and middle[1] < 60 and corner.min() > 240)


if __name__ == "__main__":
    if not draws():
        raise SystemExit(1)
    sys.stdout.write("drawn\n")
