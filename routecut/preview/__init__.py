"""Preview: the plan as pictures and in a window; the only importer of pyvista.

Stage      after planning; a plan and its body in, PNG bytes out
Units      m, ISO 4130 axes (X rearward, Y right, Z up)
Leaves     the interactive page of the job pack
Safe side  drawing without OpenGL libraries ends a process instead of raising: everything
           off screen is drawn in a child process
"""

from routecut.preview.children import INSTALL_HINT, can_draw, stills
from routecut.preview.window import show

__all__ = ["INSTALL_HINT", "can_draw", "show", "stills"]
