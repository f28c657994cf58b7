"""Peers are an extra: where they are not installed, their modules are no doctests either."""

from importlib.util import find_spec

collect_ignore = [
    name for name, needs in (("sampling.py", "ompl"), ("wavefront.py", "skimage")) if find_spec(needs) is None
]
