"""Scene: the plan as shapes, for whatever shows it: a body for the eye, keep-outs, curves, colours.

Stage      below documents and preview; a plan and its body in, arrays out
Units      m, ISO 4130 axes (X rearward, Y right, Z up)
Leaves     drawing, and every length that is printed
Safe side  what is shown is never routed or measured on: each face of the reduced body says how
           far it may lie off the mesh
"""

from routecut.scene.curves import dashed, thinned
from routecut.scene.picked import Picked, picked
from routecut.scene.reduced import Reduced, reduced
from routecut.scene.solids import keep_out_triangles, tube

__all__ = ["Picked", "Reduced", "dashed", "keep_out_triangles", "picked", "reduced", "thinned", "tube"]
