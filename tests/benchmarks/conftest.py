"""The ray engine has no wheel for Linux on ARM: there the benchmark goes without it."""

from importlib.util import find_spec

collect_ignore = [] if find_spec("embreex") else ["test_ray_engine.py"]
