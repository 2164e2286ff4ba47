"""Scene text as TOML, read to plain values."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from photonsim.scene.mistakes import Mistake, SceneError

_PLACE = re.compile(r"\s*\(at (line \d+, column \d+|end of document)\)$")


def read_toml(text: str, where: str) -> dict[str, Any]:
    """Read TOML text to plain values. Raises SceneError with line and column if it is not TOML."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        problem, place = "the brackets are nested too deeply", ""
    except tomllib.TOMLDecodeError as error:
        found = _PLACE.search(str(error))
        place = found.group(1) if found else ""
        problem = f"this is not TOML: {_PLACE.sub('', str(error))}"
    except ValueError:  # Python refuses to read integers of thousands of digits
        problem, place = "a whole number has far too many digits", ""
    raise SceneError([Mistake(place, problem)], where) from None
