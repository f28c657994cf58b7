"""``python -m routecut``: the same as ``routecut``."""

from routecut.cli import main

if __name__ == "__main__":
    main()
