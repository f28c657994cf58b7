"""Run as a child: draws a sphere, looks at two pixels, says ``drawn``. May well crash.

With vtk alone: the same OpenGL as the pictures, in a third of the time.
"""

from __future__ import annotations

import sys

_SIZE = (80, 60)
_RED = (1.0, 0.0, 0.0)


def draws() -> bool:
    """A red sphere on white: red in the middle, white in the corner."""
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - what the classes below draw with
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkFiltersSources import vtkSphereSource
    from vtkmodules.vtkRenderingCore import (
        vtkActor,
        vtkPolyDataMapper,
        vtkRenderer,
        vtkRenderWindow,
        vtkWindowToImageFilter,
    )

    sphere, mapper, actor, renderer = vtkSphereSource(), vtkPolyDataMapper(), vtkActor(), vtkRenderer()
    mapper.SetInputConnection(sphere.GetOutputPort())
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*_RED)
    actor.GetProperty().LightingOff()
    renderer.AddActor(actor)
    renderer.SetBackground(1.0, 1.0, 1.0)
    renderer.ResetCamera()
    window, taken = vtkRenderWindow(), vtkWindowToImageFilter()
    window.SetOffScreenRendering(1)
    window.SetSize(*_SIZE)
    window.AddRenderer(renderer)
    window.Render()
    taken.SetInput(window)
    taken.Update()
    flat = vtk_to_numpy(taken.GetOutput().GetPointData().GetScalars())
    picture = flat.reshape(_SIZE[1], _SIZE[0], -1)
    middle, corner = picture[_SIZE[1] // 2, _SIZE[0] // 2], picture[0, 0]
    return bool(middle[0] > 200 and middle[1] < 60 and corner.min() > 240)


if __name__ == "__main__":
    if not draws():
        raise SystemExit(1)
    sys.stdout.write("drawn\n")
