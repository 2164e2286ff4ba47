"""Words in a scene: what a title may hold, and which characters are signals and not letters."""

import re
from typing import Annotated

from pydantic import AfterValidator
from pydantic_core import PydanticCustomError

# Control characters, the separators of lines and paragraphs, those that turn the way of reading
# round (a title could read otherwise than it is), and halves of characters.
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
LINE_ENDS = "\n\r\t"


def _refuse_control(text: str, but: str = "") -> str:
    for found in CONTROL.finditer(text):
        if found[0] not in but:
            raise PydanticCustomError(
                "control_character",
                "holds the control character {shown}, which is no letter; take it out",
                {"shown": f"U+{ord(found[0]):04X}"},
            )
    return text


MOST_OF_TITLE = 200


def with_remark(title: str, remark: str) -> str:
    """Return a title with a few words more, shortened to what a title may hold."""
    return f"{title[: MOST_OF_TITLE - 2 - len(remark)]}, {remark}"[:MOST_OF_TITLE]


# One argument each: the oldest pydantic allowed would hand a second one over.
OneLine = Annotated[str, AfterValidator(lambda text: _refuse_control(text))]
Lines = Annotated[str, AfterValidator(lambda text: _refuse_control(text, LINE_ENDS))]
