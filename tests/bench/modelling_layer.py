"""The same program through linopy, a modelling layer: labelled variables and expressions, then HiGHS.

The expressions are handed over as padded arrays of labels and coefficients, the fastest way linopy offers; a
model written with sums over dimensions would take longer still.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from scipy.sparse import csc_array

from coatwright.programs import Matrix


def solve(matrix: Matrix) -> float:
    """Build and solve; returns the optimum."""
    import linopy
    import xarray as xr

    model = linopy.Model()
    columns = np.arange(len(matrix.cost))
    x = model.add_variables(
        lower=xr.DataArray(matrix.low, dims="column", coords={"column": columns}),
        upper=xr.DataArray(matrix.high, dims="column", coords={"column": columns}),
        name="x",
    )
    a = csc_array(
        (matrix.value, matrix.index, matrix.start), shape=(len(matrix.row_low), len(columns))
    ).tocsr()
    equal = matrix.row_low == matrix.row_high
    for name, chosen, sign, right in (
        ("equal", equal, "=", matrix.row_low),
        ("most", ~equal & np.isfinite(matrix.row_high), "<=", matrix.row_high),
        ("least", ~equal & np.isfinite(matrix.row_low), ">=", matrix.row_low),
    ):
        rows = np.flatnonzero(chosen)
        if len(rows):
            for part, numbers in enumerate(_by_length(a, rows)):
                left = _expression(model, x, a, numbers)
                limit = xr.DataArray(right[numbers], dims="row", coords={"row": numbers})
                model.add_constraints(left, sign, limit, name=f"{name}{part}")
    model.add_objective((x * xr.DataArray(matrix.cost, dims="column", coords={"column": columns})).sum())
    model.solve(solver_name="highs", io_api="direct", output_flag=False, log_to_console=False, progress=False)
    return float(model.objective.value)


def _by_length(a: Any, rows: np.ndarray) -> list[np.ndarray]:
    """Rows grouped by how many terms they have, so that padding stays small."""
    terms = np.diff(a.indptr)[rows]
    edges = [0, 4, 16, 64, 256, 10**9]
    groups = [rows[(terms > low) & (terms <= high)] for low, high in pairwise(edges)]
    return [group for group in groups if len(group)]


def _expression(model: Any, x: Any, a: Any, rows: np.ndarray) -> Any:
    import linopy
    import xarray as xr

    widest = int(np.diff(a.indptr)[rows].max())
    labels = np.full((len(rows), widest), -1)
    values = np.full((len(rows), widest), np.nan)
    names = x.labels.values
    for k, row in enumerate(rows):
        part = slice(a.indptr[row], a.indptr[row + 1])
        labels[k, : part.stop - part.start] = names[a.indices[part]]
        values[k, : part.stop - part.start] = a.data[part]
    data = xr.Dataset(
        {"coeffs": (("row", "_term"), values), "vars": (("row", "_term"), labels)}, coords={"row": rows}
    )
    return linopy.LinearExpression(data, model)
