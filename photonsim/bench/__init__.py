"""What the maker does around the lamp: first-order optics, doubts about a scene, its brief."""

from photonsim.bench.brief import scene_brief
from photonsim.bench.doubts import Doubt, doubts_about
from photonsim.bench.facts import Facts, facts_of

__all__ = ["Doubt", "Facts", "doubts_about", "facts_of", "scene_brief"]
