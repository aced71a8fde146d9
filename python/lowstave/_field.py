from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Union

from . import _lowstave
from ._errors import InputRefused, Problem, ProgramFailed

if TYPE_CHECKING:
    import pyarrow

FilesWanted = Literal["none", "rates", "all"]


@dataclass(frozen=True)
class Remark:
    """Something that was guessed, changed or left out, or that somebody should look at."""

    #: ``look``, ``guess`` or ``note``.
    level: str
    #: A stable name for programs.
    code: str
    what: str
    #: What can be done about it.
    way_out: str | None = None
    #: Where in the input: ``file``, ``row``, ``column``, ``key``.
    place: Mapping[str, Any] | None = None


@dataclass(frozen=True)
class Result:
    """A field that is planned."""

    #: 0, or 1 where somebody should look at a remark: the exit code of the command.
    code: int
    remarks: list[Remark]
    #: The result files that were asked for, by path.
    files: dict[str, bytes] = field(repr=False)
    _map: bytes = field(repr=False)
    _batch: Union[pyarrow.RecordBatch, None] = field(repr=False)

    @property
    def zones(self) -> list[dict[str, Any]]:
        """The zones as GeoJSON features: shapes in degrees; limits, reasons and rates as in ``prescription.geojson``."""
        return json.loads(self._map)["features"]

    @property
    def table(self) -> pyarrow.Table:
        """The zones as an Arrow table, columns as of :func:`lowstave.plan_table`. Needs pyarrow."""
        import pyarrow

        return pyarrow.Table.from_batches([self._batch])


def plan(
    files: Union[Mapping[str, bytes], str, os.PathLike[str]],
    plan: str = "plan.toml",
    *,
    files_wanted: FilesWanted = "none",
    threads: int = 1,
    memory: str | None = None,
) -> Result:
    """Plans one field.

    ``files``: the plan and the files that it names, by name; or the folder in which they lie; or the plan file itself.
    ``plan``: the plan's name among them.
    ``files_wanted``: which result files are given: ``none``, ``rates`` (what a controller and whoever drives it need) or ``all``.
    ``threads``: threads for the field. ``memory``: the most that it may take, such as ``"2 GB"``.

    Raises :class:`InputRefused` where the input cannot be used and :class:`ProgramFailed` where the program or the machine failed.

    >>> import lowstave
    >>> try:
    ...     lowstave.plan({"plan.toml": b'field = "North"'})
    ... except lowstave.InputRefused as error:
    ...     print(error.problems[0])
    plan.toml, row 1, key season: "season" is missing; add season = 2027 at the top
    """
    folder, named = None, []
    if isinstance(files, Mapping):
        named = [(name, bytes(content)) for name, content in files.items()]
    else:
        path = Path(files)
        folder, plan = (path.parent, path.name) if path.is_file() else (path, plan)
    has_arrow = find_spec("pyarrow") is not None
    code, told, zones, batch, given = _lowstave.plan_field(
        named, folder, plan, (files_wanted, has_arrow), (threads, memory)
    )
    if zones is None:
        problems = [_problem(problem) for problem in json.loads(told)]
        raise (InputRefused if code == InputRefused.code else ProgramFailed)(problems)
    remarks = [Remark(**remark) for remark in json.loads(told)]
    return Result(code=code, remarks=remarks, files=given, _map=zones, _batch=batch)


def _problem(told: dict[str, Any]) -> Problem:
    return Problem(**{key: told[key] for key in ("what", "way_out", "file", "row", "column", "code")})
