"""A small builder for sparse linear programs, and HiGHS behind it.

    minimise  cost . x   subject to   row_low <= A x <= row_high,   low <= x <= high

Columns and rows are added in blocks of arrays and go to the solver as one sparse matrix. A :class:`Solver`
keeps the last basis, so that a change of limits or costs is answered by a few simplex steps. Columns and rows
may belong to *blocks* that few other rows tie together (the zones of a dog): the blocks are solved one by one
first, and their bases put together start the whole (:meth:`Solver.start_from_blocks`).
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from hashlib import sha256
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coatwright.errors import SolverError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
INF = float("inf")
NO_BLOCK = -1
"""Block number of what ties blocks together."""


class Program:
    """A linear program under construction."""

    def __init__(self) -> None:
        self.columns = 0
        self.rows = 0
        self.block = NO_BLOCK
        """The block to which columns and rows added from now on belong."""
        self._column_blocks: list[Ints] = []
        self._row_blocks: list[Ints] = []
        self._cost: list[Floats] = []
        self._low: list[Floats] = []
        self._high: list[Floats] = []
        self._extra_cost: list[tuple[Ints, Floats]] = []
        self._row_low: list[Floats] = []
        self._row_high: list[Floats] = []
        self._entries: list[tuple[Ints, Ints, Floats]] = []

    def add_columns(
        self, count: int, *, cost: ArrayLike = 0.0, low: ArrayLike = 0.0, high: ArrayLike = INF
    ) -> Ints:
        """Add ``count`` variables; cost and limits are scalars or shape (count,). Returns their numbers."""
        for store, values in ((self._cost, cost), (self._low, low), (self._high, high)):
            store.append(_filled(values, count))
        self._column_blocks.append(np.full(count, self.block))
        numbers = np.arange(self.columns, self.columns + count)
        self.columns += count
        return numbers

    def add_rows(self, count: int, *, low: ArrayLike = -INF, high: ArrayLike = INF) -> Ints:
        """Add ``count`` empty rows with limits (scalars or shape (count,)). Returns their numbers."""
        for store, values in ((self._row_low, low), (self._row_high, high)):
            store.append(_filled(values, count))
        self._row_blocks.append(np.full(count, self.block))
        numbers = np.arange(self.rows, self.rows + count)
        self.rows += count
        return numbers

    def put(self, rows: ArrayLike, columns: ArrayLike, values: ArrayLike) -> None:
        """Add coefficients; the three broadcast against each other. Repeated places add up."""
        r, c, v = np.broadcast_arrays(
            np.asarray(rows, dtype=np.int64),
            np.asarray(columns, dtype=np.int64),
            np.asarray(values, dtype=float),
        )
        if v.size:
            self._entries.append((r.ravel(), c.ravel(), v.ravel()))

    def add_cost(self, columns: ArrayLike, values: ArrayLike) -> None:
        """Raise the cost of columns already added; repeated columns add up."""
        where, extra = np.broadcast_arrays(
            np.asarray(columns, dtype=np.int64), np.asarray(values, dtype=float)
        )
        self._extra_cost.append((where.ravel(), extra.ravel()))

    def build(self) -> Matrix:
        """The finished program."""
        from scipy.sparse import coo_array

        def joined(parts: list[Floats]) -> Floats:
            return np.concatenate(parts) if parts else np.zeros(0)

        if self._entries:
            rows, columns, values = (np.concatenate(part) for part in zip(*self._entries, strict=True))
        else:
            rows, columns, values = np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0)
        sparse = coo_array((values, (rows, columns)), shape=(self.rows, self.columns)).tocsc()
        cost = joined(self._cost)
        for where, extra in self._extra_cost:
            np.add.at(cost, where, extra)
        return Matrix(
            cost=cost,
            low=joined(self._low),
            high=joined(self._high),
            row_low=joined(self._row_low),
            row_high=joined(self._row_high),
            start=sparse.indptr.astype(np.int32),
            index=sparse.indices.astype(np.int32),
            value=sparse.data,
            column_blocks=np.concatenate(self._column_blocks or [np.zeros(0, np.int64)]),
            row_blocks=np.concatenate(self._row_blocks or [np.zeros(0, np.int64)]),
        )


@dataclass(frozen=True, slots=True)
class Matrix:
    """A linear program as arrays; the matrix is compressed by columns."""

    cost: Floats
    low: Floats
    high: Floats
    row_low: Floats
    row_high: Floats
    start: NDArray[np.int32]
    index: NDArray[np.int32]
    value: Floats
    column_blocks: Ints
    row_blocks: Ints

    def block(self, number: int) -> tuple[Matrix, Ints, Ints]:
        """One block as a program of its own, with the numbers of its columns and rows here."""
        columns = np.flatnonzero(self.column_blocks == number)
        rows = np.flatnonzero(self.row_blocks == number)
        part = self.sparse()[:, columns][rows, :].tocsc()
        small = Matrix(
            cost=self.cost[columns],
            low=self.low[columns],
            high=self.high[columns],
            row_low=self.row_low[rows],
            row_high=self.row_high[rows],
            start=part.indptr.astype(np.int32),
            index=part.indices.astype(np.int32),
            value=part.data,
            column_blocks=self.column_blocks[columns],
            row_blocks=self.row_blocks[rows],
        )
        return small, columns, rows

    def digest(self) -> bytes:
        """A mark that two programs share only when they are the same."""
        mark = sha256()
        for part in (
            self.cost,
            self.low,
            self.high,
            self.row_low,
            self.row_high,
            self.start,
            self.index,
            self.value,
        ):
            mark.update(len(part).to_bytes(8, "little"))
            mark.update(np.ascontiguousarray(part).tobytes())
        return mark.digest()

    def sparse(self) -> Any:
        """The coefficients as a SciPy matrix, compressed by columns."""
        from scipy.sparse import csc_array

        return csc_array((self.value, self.index, self.start), shape=(len(self.row_low), len(self.cost)))

    def pass_to(self, highs: Any) -> None:
        """Hand the program to a HiGHS instance, array by array."""
        import highspy

        highs.passModel(
            len(self.cost),
            len(self.row_low),
            len(self.value),
            int(highspy.MatrixFormat.kColwise),
            int(highspy.ObjSense.kMinimize),
            0.0,
            self.cost,
            self.low,
            self.high,
            self.row_low,
            self.row_high,
            self.start,
            self.index,
            self.value,
            np.zeros(len(self.cost), dtype=np.int32),
        )


@dataclass(frozen=True, slots=True)
class Solution:
    """An optimum: ``x`` per column, ``price`` per row (what one more unit of its limit would change)."""

    objective: float
    x: Floats
    price: Floats
    reduced: Floats = field(repr=False)


class Solver:
    """HiGHS on one program. Limits and costs may change between calls of :meth:`solve`; it starts warm."""

    def __init__(self, matrix: Matrix, *, threads: int = 1) -> None:
        import highspy

        self.matrix = matrix
        self._highs = highspy.Highs()
        self._highs.setOptionValue("output_flag", False)
        self._highs.setOptionValue("threads", threads)
        self._highs.setOptionValue("random_seed", 0)
        # These programs are small in range (shares, minutes) and solved again and again: presolve and scaling
        # cost more than they gain, by half on 16 zones x 40 visits (docs/reference/performance.md).
        self._highs.setOptionValue("presolve", "off")
        self._highs.setOptionValue("simplex_scale_strategy", 0)
        matrix.pass_to(self._highs)

    def limit_columns(self, columns: ArrayLike, low: ArrayLike, high: ArrayLike) -> None:
        """Change the limits of variables."""
        numbers, lows, highs = _triple(columns, low, high)
        self._highs.changeColsBounds(len(numbers), numbers, lows, highs)

    def limit_rows(self, rows: ArrayLike, low: ArrayLike, high: ArrayLike) -> None:
        """Change the limits of rows."""
        for row, bottom, top in zip(*_triple(rows, low, high), strict=True):
            self._highs.changeRowBounds(int(row), float(bottom), float(top))

    def price_columns(self, columns: ArrayLike, cost: ArrayLike) -> None:
        """Change the cost of variables."""
        numbers, costs, _ = _triple(columns, cost, 0.0)
        self._highs.changeColsCost(len(numbers), numbers, costs)

    def basis(self) -> Any:
        """The basis of the last solve, for :meth:`start_from`."""
        return self._highs.getBasis()

    def start_from(self, basis: Any) -> None:
        """Let the next solve start from a basis kept earlier."""
        self._highs.setBasis(basis)

    def start_from_blocks(self) -> None:
        """Solve each block on its own and let the next solve start from their bases, put together.

        With nothing that ties them these bases are optimal; with ties they are still dual feasible, and the dual
        simplex method only mends the rows that bind. Blocks are many small programs, and the time of a simplex
        solve grows faster than its size. Bases are remembered: a change by hand touches one block of a dog.
        """
        import highspy

        status = highspy.HighsBasisStatus
        columns = np.full(len(self.matrix.cost), status.kLower, dtype=object)
        rows = np.full(len(self.matrix.row_low), status.kBasic, dtype=object)
        for number in np.unique(self.matrix.column_blocks[self.matrix.column_blocks != NO_BLOCK]):
            small, column_numbers, row_numbers = self.matrix.block(int(number))
            columns[column_numbers], rows[row_numbers] = _block_basis(small)
        columns[~np.isfinite(self.matrix.low) & (self.matrix.column_blocks == NO_BLOCK)] = status.kZero
        together = highspy.HighsBasis()
        together.col_status, together.row_status = columns.tolist(), rows.tolist()
        together.valid = True
        self.start_from(together)

    def solve(self) -> Solution:
        """Solve, or solve again from where the last solve ended.

        Raises :class:`SolverError` unless an optimum is found; the coat's own programs always have one,
        since each of their limits can be missed at a price.
        """
        import highspy

        highs = self._highs
        highs.run()
        status = highs.getModelStatus()
        if status != highspy.HighsModelStatus.kOptimal:
            raise SolverError(
                f"The linear program ended as {highs.modelStatusToString(status).lower()!r}.",
                remedy="Check the fixed cells and limits; report the plan's file if they look right.",
            )
        solution = highs.getSolution()
        return Solution(
            objective=float(highs.getObjectiveValue()),
            x=np.array(solution.col_value),
            price=np.array(solution.row_dual),
            reduced=np.array(solution.col_dual),
        )


class Remainder:
    """What a program comes to once some columns are ``given``, without solving it.

    Each other column must either be ``defined`` by an equality row of its own, or stand in one row alone, from 0
    up and at no gain: a price for what the row misses. Then the cheapest way to satisfy a row is to use its
    columns in the order of their prices.

    ``given`` (n,) columns; ``defined`` (2, m) columns and the rows that define them. Raises ``ValueError`` for a
    program that is not of this kind.
    """

    def __init__(self, matrix: Matrix, given: Ints, defined: Ints) -> None:
        self._matrix, self._given, self._defined = matrix, given, defined
        whole = matrix.sparse()
        self._whole = whole.tocsr()
        self._of_defined = whole[:, defined[0]].tocsr()
        self._by = np.asarray(whole[defined[1], defined[0]]).ravel() if defined.size else np.zeros(0)
        rest = np.ones(len(matrix.cost), dtype=bool)
        rest[given] = rest[defined[0]] = False
        alone = np.flatnonzero(rest)
        if (np.diff(matrix.start)[alone] != 1).any() or (matrix.low[alone] != 0.0).any():
            raise ValueError("a column is neither given, nor defined, nor in one row alone")
        if (matrix.cost[alone] < 0.0).any():
            raise ValueError("a column that misses a row is worth something")
        row, part = matrix.index[matrix.start[alone]], matrix.value[matrix.start[alone]]
        order = np.lexsort((matrix.cost[alone] / np.abs(part), part > 0.0, row))
        column, row, part = alone[order], row[order], part[order]
        group = np.flatnonzero(np.append(True, (np.diff(row) != 0) | (np.diff(part > 0.0))))
        place = np.arange(len(row)) - np.repeat(group, np.diff(np.append(group, len(row))))
        self._ranks = [
            (column[place == k], row[place == k], part[place == k])
            for k in range(int(place.max(initial=-1)) + 1)
        ]

    def weigh(self, values: Floats) -> tuple[float, Floats]:
        """Objective and all columns (columns,) for ``values`` (n,) of those given."""
        matrix = self._matrix
        x = np.zeros(len(matrix.cost))
        x[self._given] = values
        sums = self._whole @ x
        columns, rows = self._defined
        x[columns] = (matrix.row_low[rows] - sums[rows]) / self._by
        sums += self._of_defined @ x[columns]
        for column, row, part in self._ranks:
            missing = np.where(part > 0.0, matrix.row_low[row] - sums[row], sums[row] - matrix.row_high[row])
            x[column] = np.clip(missing / np.abs(part), 0.0, matrix.high[column])
            np.add.at(sums, row, part * x[column])
        return float(matrix.cost @ x), x


_BASES: OrderedDict[bytes, tuple[Any, Any]] = OrderedDict()
_BASES_KEPT = 1000
_BASES_LOCK = Lock()


def _block_basis(block: Matrix) -> tuple[Any, Any]:
    """Statuses of columns and rows in the optimum of a block, solved once."""
    key = block.digest()
    with _BASES_LOCK:
        known = _BASES.get(key)
        if known is not None:
            _BASES.move_to_end(key)
            return known
    alone = Solver(block)
    alone.solve()
    basis = alone.basis()
    found = (np.array(basis.col_status, dtype=object), np.array(basis.row_status, dtype=object))
    with _BASES_LOCK:
        _BASES[key] = found
        while len(_BASES) > _BASES_KEPT:
            _BASES.popitem(last=False)
    return found


def forget_bases() -> None:
    """Forget the remembered bases, so that a first solve can be timed again."""
    with _BASES_LOCK:
        _BASES.clear()


def _filled(values: ArrayLike, count: int) -> Floats:
    """A scalar as an array of ``count``, or the array itself; ten times as quick as broadcasting."""
    array = np.asarray(values, dtype=float)
    if array.ndim == 0:
        return np.full(count, float(array))
    if array.shape != (count,):
        raise ValueError(f"{array.shape} values for {count} places")
    return array


def _triple(
    columns: ArrayLike, first: ArrayLike, second: ArrayLike
) -> tuple[NDArray[np.int32], Floats, Floats]:
    numbers = np.atleast_1d(np.asarray(columns, dtype=np.int32))
    a = np.array(np.broadcast_to(np.asarray(first, dtype=float), numbers.shape))
    b = np.array(np.broadcast_to(np.asarray(second, dtype=float), numbers.shape))
    return numbers, a, b
