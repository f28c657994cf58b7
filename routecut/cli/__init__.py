"""The command line: arguments, one library call, print, exit code; one file per group.

Nothing heavy is imported before a command needs it, so ``routecut --help`` stays quick.
"""

from routecut.cli.app import app, main

__all__ = ["app", "main"]
