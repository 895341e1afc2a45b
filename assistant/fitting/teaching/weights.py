"""The file of the model of sounds: rows of numbers with names, as its runtime reads them."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import numpy.typing as npt
from construct import (
    Array,
    Bytes,
    Const,
    Int8ul,
    Int16ul,
    Int32ul,
    Int64ul,
    PascalString,
    PrefixedArray,
    Struct,
    this,
)

Weights = dict[str, npt.NDArray[np.float32]]
"""By the names in the file."""

_TYPES = (np.dtype("<f4"), np.dtype("<f2"))
"""By the number that stands for each."""
_HEAD = Struct(
    "magic" / Const(b"HAMAPK"),
    "version" / Bytes(2),
    "rows"
    / PrefixedArray(
        Int32ul,
        Struct(
            "name" / PascalString(Int16ul, "utf8"),
            "type" / Int8ul,
            "rank" / Int8ul,
            "shape" / Array(this.rank, Int32ul),
            "offset" / Int64ul,
            "size" / Int64ul,
        ),
    ),
)


def read(path: Path) -> Weights:
    """All that the file holds."""
    content = path.read_bytes()
    return {
        name: np.frombuffer(content[place], kind).astype(np.float32).reshape(shape)
        for name, (place, kind, shape) in _places(content).items()
    }


def write(path: Path, weights: Mapping[str, npt.NDArray[np.float32]], like: Path) -> None:
    """The same file as `like`, with these numbers in it, each as exactly as there."""
    content = bytearray(like.read_bytes())
    for name, (place, kind, _) in _places(bytes(content)).items():
        content[place] = weights[name].astype(kind).tobytes()
    path.write_bytes(content)


def _places(content: bytes) -> dict[str, tuple[slice, np.dtype, tuple[int, ...]]]:
    """Where each row of numbers lies, its type and its shape; the last one ends the file."""
    rows = _HEAD.parse(content).rows
    begins = len(content) - max(one.offset + one.size for one in rows)
    return {
        one.name: (
            slice(begins + one.offset, begins + one.offset + one.size),
            _TYPES[one.type],
            tuple(one.shape),
        )
        for one in rows
    }
