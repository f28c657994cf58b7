"""routecut: plan, cut and document the cables of a two-way radio fit-out.

The public names are few on purpose: load a job folder, plan it, read the plan.
Everything heavy is imported when it is used, so that ``routecut --help`` stays quick.
"""

from importlib import metadata

try:
    __version__ = metadata.version("routecut")
except metadata.PackageNotFoundError:  # a source tree that was never installed
    __version__ = "0.1.0"

__all__ = ["__version__"]
