"""What the models say about a key: the kind of value that belongs there, through all wrapping."""

from __future__ import annotations

import types
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from photonsim.scene.unfinished import Unfinished


def bare(annotation: Any) -> Any:
    """Return an annotation without constraints, `| None` and `| Unfinished`."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in (Union, types.UnionType):
        members = [one for one in get_args(annotation) if one not in (types.NoneType, Unfinished)]
        if len(members) == 1:
            return bare(members[0])
    return annotation


def is_table(annotation: Any) -> bool:
    """Tell whether a bare annotation is that of a table of its own."""
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def is_whole_number(annotation: Any) -> bool:
    """Tell whether a bare annotation is that of a whole number."""
    choices = get_args(annotation) if get_origin(annotation) is Literal else ()
    return annotation is int or (bool(choices) and all(isinstance(one, int) for one in choices))


def is_number(annotation: Any) -> bool:
    """Tell whether a bare annotation is that of a number."""
    return annotation is float or is_whole_number(annotation)
