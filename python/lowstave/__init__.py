"""Zones and rates for fields, from soil cores and other measurements.

One field, from files in memory or a folder::

    result = lowstave.plan({"plan.toml": ..., "boundary.geojson": ..., "cores.csv": ...})
    result = lowstave.plan("fields/north-block")

Many fields, from a table with one row a field::

    zones = lowstave.plan_table(fields, threads=4)

The files are those of the command ``lowstave plan``, and so are zones, rates and words. Cautions on seed, dust, tanks and manure stand in
the results as they do there: labels, local rules and licensed practice come first.
"""

from ._errors import InputRefused, LowstaveError, Problem, ProgramFailed
from ._field import Remark, Result, plan
from ._geoparquet import write_geoparquet
from ._lowstave import __version__
from ._table import plan_table
from ._zones import zones_schema

__all__ = [
    "InputRefused",
    "LowstaveError",
    "Problem",
    "ProgramFailed",
    "Remark",
    "Result",
    "__version__",
    "plan",
    "plan_table",
    "write_geoparquet",
    "zones_schema",
]
