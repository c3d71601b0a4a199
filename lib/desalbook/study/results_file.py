"""A table of results that grows on disk while a study runs, and from which a stopped study goes on.

Beside ``cases.csv`` stands ``cases.csv.run.json``: of which study the table is, and how many of its rows are safe.
A row is safe once it is on the disk and that file says so; whatever a broken run left after it is cut off. A study
that was stopped and resumed leaves the same bytes as one that ran through.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.problems import Conflict, DesignError
from desalbook.trail.locks import locked

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["GROUP", "ResultsFile", "fingerprint", "kept", "read_results", "remove"]

GROUP = 65536
"""Rows of one group in a parquet file, whatever the chunks they came in."""
_MOST_HELD, _LONGEST_HELD = 4096, 2.0  # rows, and seconds, that a parquet file may wait before they are safe
_KINDS = (".csv", ".parquet")


def fingerprint(*parts: Any) -> str:
    """SHA-256 of what a study is: texts, numbers, arrays; hexadecimal."""
    found = hashlib.sha256()
    for part in parts:
        if isinstance(part, np.ndarray):
            found.update(f"{part.dtype.str}{part.shape}".encode() + np.ascontiguousarray(part).tobytes())
        else:
            found.update(repr(part).encode())
        found.update(b"\0")
    return found.hexdigest()


class ResultsFile:
    """The table of one study on disk, written a few rows at a time.

    Parameters
    ----------
    path : str or Path
        Ends in ``.csv`` or ``.parquet``.
    study : mapping of str to str
        What the study is, plain texts; kept beside the table.
    print_ : str
        `fingerprint` of everything the results depend on.
    columns : mapping of str to str
        Names in their order, each with its type: ``float64``, ``int64`` or ``str``.
    total : int
        Rows of the whole study.

    Raises
    ------
    DesignError
        Another ending, a folder that is not there, a table that is not of this study.
    """

    def __init__(self, path: str | os.PathLike[str], study: Mapping[str, str], print_: str,
                 columns: Mapping[str, str], total: int):
        self.path = _checked(Path(path))
        self.columns, self.total, self._most = dict(columns), total, total
        self._said: dict[str, Any] = dict(study) | {"fingerprint": print_, "rows_in_all": total,
                                                    "columns": dict(columns)}
        self._beside = _beside(self.path)
        self._parts = self.path.with_name(f".{self.path.name}.parts")
        self.rows, self._size = 0, 0
        """Rows that are safe; bytes of a CSV file that hold them."""
        self._held: list[pd.DataFrame] = []
        self._spilt = time.monotonic()

    @property
    def parquet(self) -> bool:
        return self.path.suffix.lower() == ".parquet"

    @property
    def complete(self) -> bool:
        """Whether all rows are safe."""
        return self.rows == self.total

    def finish(self) -> None:
        """The study has no more rows than those appended: a search ended before its largest number."""
        self._spill()
        self.total = self._said["rows_in_all"] = self.rows
        self._note()

    @contextlib.contextmanager
    def open(self) -> Iterator[ResultsFile]:
        """Hold the file for one run; go on after the rows that are safe.

        Raises
        ------
        Conflict
            Another program runs a study into this file.
        DesignError
            The table is of another study, or cannot be written.
        """
        try:
            with locked(self.path, "run the study again"):
                self._resume()
                try:
                    yield self
                finally:
                    self._spill()
                if self.complete:
                    self._end()
        except OSError as error:
            raise DesignError("cannot be written to", where="results", value=str(self.path),
                              do=f"give another file ({error.strerror or error})") from None

    def append(self, rows: pd.DataFrame) -> None:
        """Add rows, which are safe when this returns; in a parquet file some seconds later."""
        if list(rows.columns) != list(self.columns):
            raise ValueError("other columns than the file has")
        if self.parquet:
            self._held.append(rows)
            if sum(map(len, self._held)) >= _MOST_HELD or time.monotonic() - self._spilt > _LONGEST_HELD:
                self._spill()
            return
        text = rows.to_csv(index=False, header=False, lineterminator="\n").encode("utf-8")
        with open(self.path, "ab") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        self.rows += len(rows)
        self._size += len(text)
        self._note()

    def frame(self) -> pd.DataFrame:
        """The rows that are safe, read back as they were."""
        import pandas as pd

        if not self.parquet:
            return read_results(self.path)
        some = [pd.read_parquet(f) for f in ([self.path] if self.path.exists() else self._spills())]
        return _typed(pd.concat(some, ignore_index=True) if some else pd.DataFrame(columns=list(self.columns)),
                      self.columns)

    # how it goes on ------------------------------------------------------------------------------------

    def _resume(self) -> None:
        found = _provenance(self.path)
        if found is None:
            if self.path.exists():
                raise DesignError("that file exists and is not a study table", where="results",
                                  value=str(self.path), do="give another name, or move the file away")
            self._begin()
            return
        if found.get("fingerprint") != self._said["fingerprint"] or found["columns"] != self.columns:
            raise Conflict("the table there is of another study: plant, conditions or version of the kit differ",
                           where="results", value=str(self.path),
                           do=f"give another name, or remove it together with {self._beside.name}")
        self.rows, self._size = int(found["rows"]), int(found["bytes"])
        self.total = self._said["rows_in_all"] = int(found["rows_in_all"])
        if self.parquet:
            if self.complete and self.path.exists():
                return
            for left in self._spills():
                if int(left.stem) >= self.rows:
                    left.unlink()
            pq = _engine()
            if sum(pq.read_metadata(f).num_rows for f in self._spills()) != self.rows:
                self._begin()  # somebody took rows away
            return
        if not self.path.exists() or self.path.stat().st_size < self._size:
            self._begin()  # somebody took rows away
        elif self.path.stat().st_size > self._size:
            os.truncate(self.path, self._size)

    def _begin(self) -> None:
        import pandas as pd

        self.rows, self._size = 0, 0
        self.total = self._said["rows_in_all"] = self._most
        if self.parquet:
            _engine()
            shutil.rmtree(self._parts, ignore_errors=True)
            self._parts.mkdir()
        else:
            head = pd.DataFrame(columns=list(self.columns)).to_csv(index=False, lineterminator="\n").encode("utf-8")
            self.path.write_bytes(head)
            self._size = len(head)
        self._note()

    def _note(self) -> None:
        """Say how far the table has come: all of the file or none of it."""
        part = self._beside.with_name(f".{self._beside.name}.part")
        part.write_text(json.dumps(self._said | {"rows": self.rows, "bytes": self._size}, indent=1) + "\n",
                        encoding="utf-8")
        os.replace(part, self._beside)

    # parquet: some rows a file, joined at the end, for a file that was not closed cannot be read ----------

    def _spills(self) -> list[Path]:
        """Files of the rows that are safe, each named by the first of its rows."""
        return sorted(self._parts.glob("*.parquet"))

    def _spill(self) -> None:
        import pandas as pd

        if not self._held:
            return
        held, self._held, self._spilt = pd.concat(self._held, ignore_index=True), [], time.monotonic()
        name = self._parts / f"{self.rows:012d}.parquet"
        part = name.with_suffix(".part")
        _typed(held, self.columns).to_parquet(part, index=False)
        os.replace(part, name)
        self.rows += len(held)
        self._note()

    def _end(self) -> None:
        """Join what was written piece by piece, in groups that do not know of the pieces."""
        if not self.parquet or self.path.exists():
            return
        import pyarrow as pa

        pq = _engine()
        part, some = self.path.with_name(f".{self.path.name}.part"), []
        with pq.ParquetWriter(part, pq.read_schema(self._spills()[0])) as joined:
            for one in self._spills():
                some.append(pq.read_table(one))
                while sum(map(len, some)) >= GROUP:
                    table = pa.concat_tables(some)
                    joined.write_table(table[:GROUP].combine_chunks(), row_group_size=GROUP)
                    some = [table[GROUP:]]
            if (table := pa.concat_tables(some)).num_rows:
                joined.write_table(table.combine_chunks(), row_group_size=GROUP)
        os.replace(part, self.path)
        shutil.rmtree(self._parts, ignore_errors=True)


def kept(path: str | os.PathLike[str], print_: str) -> tuple[int, int]:
    """How many rows of a study a file holds, and how many there will be; none of another study.

    Parameters
    ----------
    path : str or Path
    print_ : str
        `fingerprint` of the study.
    """
    found = _provenance(Path(path))
    if found is None or found.get("fingerprint") != print_:
        return 0, 0
    return int(found["rows"]), int(found["rows_in_all"])


def remove(path: str | os.PathLike[str]) -> None:
    """Take a results file away, and what stands beside it."""
    path = Path(path)
    shutil.rmtree(path.with_name(f".{path.name}.parts"), ignore_errors=True)
    for one in (_beside(path), path):
        one.unlink(missing_ok=True)


def read_results(path: str | os.PathLike[str]) -> pd.DataFrame:
    """The table a study wrote, numbers to their last bit and texts as texts.

    Parameters
    ----------
    path : str or Path
        A CSV or parquet file written by `desalbook.rate` or `desalbook.sweep`, finished or not.

    Raises
    ------
    DesignError
        No such table, or nothing beside it says which study it is of.
    """
    import pandas as pd

    path = Path(path)
    said = _provenance(path)
    if said is None or not path.exists():
        raise DesignError("no table of a study", where="results", value=str(path),
                          do="name a file that rate or sweep wrote, with its .run.json beside it")
    columns: dict[str, str] = said["columns"]
    if path.suffix.lower() == ".parquet":
        return _typed(pd.read_parquet(path), columns)
    types: Any = columns
    found = pd.read_csv(path, nrows=int(said["rows"]), float_precision="round_trip", keep_default_na=False,
                        na_values={k: [""] for k, kind in columns.items() if kind != "str"}, dtype=types)
    return _typed(found, columns)


def _typed(frame: pd.DataFrame, columns: Mapping[str, str]) -> pd.DataFrame:
    """One type a column in every group and after every way of reading; no text is an empty one."""
    blank = {k: "" for k, kind in columns.items() if kind == "str"}
    return frame.fillna(blank).astype(dict(columns))


def _provenance(path: Path) -> dict[str, Any] | None:
    try:
        found = json.loads(_beside(path).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) and {"rows", "bytes", "columns"} <= set(found) else None


def _beside(path: Path) -> Path:
    return path.with_name(f"{path.name}.run.json")


def _checked(path: Path) -> Path:
    if path.suffix.lower() not in _KINDS:
        raise DesignError("not a table this kit writes", where="results", value=str(path),
                          allowed="names that end in .csv or .parquet", do="give such a name")
    if path.is_dir() or not path.absolute().parent.is_dir():
        raise DesignError("a folder, not a file" if path.is_dir() else "there is no such folder", where="results",
                          value=str(path), do="give the name of a file in a folder that is there")
    if path.suffix.lower() == ".parquet":
        _engine()
    return path


def _engine() -> Any:
    try:
        import pyarrow.parquet as found
    except ImportError:
        raise DesignError("parquet needs the optional library pyarrow", where="results", value=".parquet",
                          do='run pip install "desalbook[cluster]", or give a name that ends in .csv') from None
    return found
