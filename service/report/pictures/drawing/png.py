"""A grey picture as PNG, by the format's own rules: signature, header, deflated rows, end."""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray


def grey_png(pixels: NDArray[np.uint8]) -> bytes:
    """The bytes of a PNG file of grey values (rows, columns), 0 black.

    Source : PNG specification, ISO/IEC 15948: colour type 0, bit depth 8, filter 0 of every row

    >>> grey_png(np.zeros((1, 1), dtype=np.uint8))[1:4]
    b'PNG'
    """
    height, width = pixels.shape
    rows = np.hstack([np.zeros((height, 1), dtype=np.uint8), pixels])
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(kind, content)
        for kind, content in ((b"IHDR", header), (b"IDAT", zlib.compress(rows.tobytes(), 9)), (b"IEND", b""))
    )


def _chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))
