"""What the designs of one table are called: by their titles, or by what tells those apart."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile

# A variant's title is that of its lamp and a remark after a comma.
COMMA = ", "
AS_IT_STANDS = "as it stands"


def shared_title(titles: Sequence[str]) -> str:
    """Return what all titles begin with, up to a comma; empty where nothing is left to tell apart.

    'Bars and film' of 'Bars and film', 'Bars and film, near' and 'Bars and film, far'.
    """
    if len(set(titles)) < 2:
        return ""
    parts = zip(*(title.split(COMMA) for title in titles), strict=False)
    return COMMA.join(first for first, *_ in takewhile(lambda some: len({*some}) == 1, parts))


def labels_of(titles: Sequence[str], stems: Sequence[str] = ()) -> list[str]:
    """Return a label for each design: what its title adds to a shared one, or else its title.

    Equal ones are told apart by `stems`, those of their files, or by a number.
    """
    shared = shared_title(titles)
    found: list[str] = []
    for title, stem in zip(titles, stems or [""] * len(titles), strict=True):
        name = title.removeprefix(shared).removeprefix(COMMA) or AS_IT_STANDS if shared else title
        label, number = name, 2
        while label in found:
            marks = [stem] if stem and number == 2 else [*filter(None, [stem]), str(number)]
            label, number = f"{name} ({COMMA.join(marks)})", number + 1
        found.append(label)
    return found
