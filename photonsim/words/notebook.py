"""What a notebook shows: tables and small pictures as HTML that needs nothing else."""

from __future__ import annotations

import struct
import zlib
from base64 import b64encode
from collections.abc import Sequence
from html import escape

import numpy as np

from photonsim.arrays import Reals
from photonsim.words.escaping import visible

MOST_ROWS = 20
WIDTH_PX = 320


def html_table(rows: Sequence[Sequence[object]], title: str = "", most: int = MOST_ROWS) -> str:
    """Return rows, the headings first, as an HTML table of a few rows with a title above."""
    head, *body = rows
    lines = [_row(head, "th"), *(_row(row, "td") for row in body[:most])]
    if len(body) > most:
        lines.append(_row([f"and {len(body) - most:,} more"], "td"))
    return f"<p><b>{_safe(title)}</b></p><table>{''.join(lines)}</table>"


def grey_picture(values: Reals, words: str) -> str:
    """Return a map [rows, columns], row 0 lowest, as a grey picture above its words.

    Black is 0, white the largest value; nan is black.
    """
    top = np.nanmax(values, initial=0.0) or 1.0
    grey = np.nan_to_num(np.clip(values[::-1] / top, 0.0, 1.0) * 255.0).astype(np.uint8)
    data = b64encode(_png(grey)).decode()
    look = f'alt="map" style="width:{WIDTH_PX}px;image-rendering:pixelated"'
    return f'<img {look} src="data:image/png;base64,{data}"><pre>{_safe(words)}</pre>'


def _png(grey: np.ndarray) -> bytes:
    """Return grey values [rows, columns] of 8 bits as a PNG (ISO/IEC 15948: three chunks)."""
    rows, columns = grey.shape
    lines = np.pad(grey, ((0, 0), (1, 0)))  # each line begins with its filter, 0 for none
    header = struct.pack(">IIBBBBB", columns, rows, 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(lines.tobytes())), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        for kind, data in chunks
    )


def _row(cells: Sequence[object], tag: str) -> str:
    return f"<tr>{''.join(f'<{tag}>{_safe(cell)}</{tag}>' for cell in cells)}</tr>"


def _safe(words: object) -> str:
    return escape(visible(str(words)))
