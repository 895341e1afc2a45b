"""Cases as one Parquet file, a row a case and a column a measure, for others' tools."""

from io import BytesIO
from pathlib import Path
from typing import Any

from assistant.debrief.comparing import CaseFigures
from assistant.debrief.definitions import DEFINITIONS
from assistant.errors import BadInput
from assistant.files.named_files import write_whole


def check_parquet() -> None:
    """Raises BadInput when the library for it is missing."""
    try:
        import pyarrow as pa  # noqa: F401 - only whether it is there
    except ImportError as fault:
        raise BadInput(
            "The library for Parquet is not installed; allowed: --csv instead, or installing the "
            "project with [parquet]."
        ) from fault


def write_parquet(found: list[CaseFigures], path: Path) -> None:
    """Write a file that only its owner can read; what a measure means stands with its column.

    Text and whether it was rehearsed as they are, every measure as a 64-bit float, null where the
    record does not tell. Raises BadInput when it cannot be written, or the library is missing.
    """
    check_parquet()
    import pyarrow as pa
    import pyarrow.parquet as pq

    head: list[tuple[str, Any, list[Any]]] = [
        ("case", pa.string(), [one.case for one in found]),
        ("started_wall", pa.string(), [one.started_wall for one in found]),
        ("site", pa.string(), [one.site for one in found]),
        ("rehearsal", pa.bool_(), [one.rehearsal for one in found]),
    ]
    fields = [pa.field(name, kind) for name, kind, _ in head]
    columns = [values for _, _, values in head]
    for name, told in DEFINITIONS.items():
        about = {"title": told.title, "unit": told.unit, "means": told.means, "rows": told.rows}
        fields.append(pa.field(name, pa.float64(), metadata=about | {"source": told.source}))
        columns.append([one.values.get(name) for one in found])
    made = BytesIO()
    schema = pa.schema(fields)
    pq.write_table(pa.table(columns, schema=schema), made)
    write_whole(path, made.getvalue())
