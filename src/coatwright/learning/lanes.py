"""Eight draws side by side, as one value of the compiled loops (decision 19).

A function compiled with :data:`compiled` works on one draw where its numbers are floats, and on eight draws at once
where they are lanes: what it says of one number, the processor then does for eight. So the rules of the coat stand
once. Lanes are made by :func:`row` from an array of shape (rows, :data:`WIDTH`); where floats and lanes meet, the
float counts for every lane. A condition on lanes differs from lane to lane: choose by :func:`where`, and ask
:func:`any_of` before work that no lane needs.

Outside compiled functions the functions here work on numbers and NumPy's rows, slowly: for looking into a loop with
the compiler switched off.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable
from functools import partial
from typing import Any, TypeVar

import numpy as np
from llvmlite import ir
from numba.core import cgutils, types
from numba.extending import intrinsic, lower_builtin, models, overload, register_model, type_callable

from coatwright.compiling import numba

WIDTH = 8
"""Draws in one value: what the widest registers hold; narrower ones take them in parts."""
FARTHEST = 708.0
"""Up to this the exponential function of a number and of its negative are doubles of full precision."""

_F = TypeVar("_F", bound=Callable[..., Any])
_intrinsic: Callable[[_F], Any] = intrinsic
_typing: Callable[..., Callable[[_F], _F]] = type_callable
_overload: Callable[..., Callable[[_F], _F]] = partial(overload, strict=False)
_FAST = ("reassoc", "contract", "arcp", "nsz", "afn")
compiled: Callable[[_F], _F] = numba.njit(cache=True, nogil=True, error_model="numpy", fastmath=set(_FAST))
"""Sums and products may be put in another order. That nothing is infinite or not a number is not promised (``nnan``
and ``ninf`` are left out): the side of a :func:`where` that is not chosen may be."""

_DOUBLES = ir.VectorType(ir.DoubleType(), WIDTH)
_FLOATS = ir.VectorType(ir.FloatType(), WIDTH)
_LONGS = ir.VectorType(ir.IntType(64), WIDTH)
_BITS = ir.VectorType(ir.IntType(1), WIDTH)


class Lanes(types.Type):
    """Eight numbers."""

    def __init__(self) -> None:
        super().__init__(name="Lanes")


class Mask(types.Type):
    """Eight answers."""

    def __init__(self) -> None:
        super().__init__(name="Mask")


lanes, mask = Lanes(), Mask()


@register_model(Lanes)
class _LanesModel(models.PrimitiveModel):  # type: ignore[misc]
    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, _DOUBLES)


@register_model(Mask)
class _MaskModel(models.PrimitiveModel):  # type: ignore[misc]
    def __init__(self, manager: Any, kind: Any) -> None:
        super().__init__(manager, kind, _BITS)


def _same(kind: Any, value: float) -> Any:
    return ir.Constant(kind, [value] * WIDTH)


def _spread(context: Any, builder: Any, kind: Any, value: Any) -> Any:
    """A value as lanes, a number as the same in each."""
    if kind in (lanes, mask):
        return value
    number = context.cast(builder, value, kind, types.float64)
    none = ir.Constant(_DOUBLES, ir.Undefined)
    one = builder.insert_element(none, number, ir.Constant(ir.IntType(32), 0))
    return builder.shuffle_vector(one, none, _same(ir.VectorType(ir.IntType(32), WIDTH), 0))


def _operator(symbol: Any, emit: Callable[..., Any], given: Any, result: Any) -> None:
    """What an operator does to lanes, or to masks: ``emit(builder, x, ...)``."""

    @_typing(symbol)
    def of(context: Any) -> Any:
        def typed(x: Any, y: Any = None) -> Any:
            both = [x] if y is None else [x, y]
            ours = given in both and all(kind == given or isinstance(kind, types.Number) for kind in both)
            return result if ours else None

        return typed

    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return emit(builder, *(_spread(context, builder, k, v) for k, v in zip(sig.args, args, strict=True)))

    for kinds in ((given,), (given, given), (given, types.Number), (types.Number, given)):
        lower_builtin(symbol, *kinds)(lower)


for _symbol, _emit in (
    (operator.add, lambda b, x, y: b.fadd(x, y, flags=_FAST)),
    (operator.sub, lambda b, x, y: b.fsub(x, y, flags=_FAST)),
    (operator.mul, lambda b, x, y: b.fmul(x, y, flags=_FAST)),
    (operator.truediv, lambda b, x, y: b.fdiv(x, y, flags=_FAST)),
    (operator.neg, lambda b, x: b.fsub(_same(_DOUBLES, -0.0), x, flags=_FAST)),
):
    _operator(_symbol, _emit, lanes, lanes)
for _symbol, _sign in ((operator.lt, "<"), (operator.le, "<="), (operator.gt, ">"), (operator.ge, ">=")):
    _operator(_symbol, lambda b, x, y, sign=_sign: b.fcmp_ordered(sign, x, y), lanes, mask)
_operator(operator.and_, lambda b, x, y: b.and_(x, y), mask, mask)
_operator(operator.or_, lambda b, x, y: b.or_(x, y), mask, mask)


def _called(name: str, builder: Any, value: Any) -> Any:
    """A function of the compiler itself."""
    kind = ir.FunctionType(_DOUBLES, [_DOUBLES])
    return builder.call(
        cgutils.get_or_insert_function(builder.module, kind, f"llvm.{name}.v{WIDTH}f64"), [value]
    )


def _polynomial(builder: Any, x: Any, coefficients: list[float]) -> Any:
    """By Horner's rule, the highest power first."""
    total = _same(_DOUBLES, coefficients[0])
    for each in coefficients[1:]:
        total = builder.fadd(builder.fmul(total, x, flags=_FAST), _same(_DOUBLES, each), flags=_FAST)
    return total


def _unary(emit: Callable[[Any, Any], Any]) -> Any:
    @_intrinsic
    def of(_: Any, x: Any) -> Any:
        def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            return emit(builder, args[0])

        return lanes(lanes), lower

    return of


def _emit_exp(b: Any, x: Any) -> Any:
    """2^n e^r, r within half of ln 2 of 0, by its series up to r^13; far out to some 6e-14 of itself."""
    low, high = _same(_DOUBLES, -FARTHEST), _same(_DOUBLES, FARTHEST)
    x = b.select(b.fcmp_ordered("<", x, low), low, x)
    x = b.select(b.fcmp_ordered(">", x, high), high, x)
    n = _called("rint", b, b.fmul(x, _same(_DOUBLES, 1.0 / math.log(2.0))))
    r = b.fsub(x, b.fmul(n, _same(_DOUBLES, math.log(2.0)), flags=_FAST), flags=_FAST)
    series = _polynomial(b, r, [1.0 / math.factorial(k) for k in range(13, -1, -1)])
    power = b.shl(b.add(b.fptosi(n, _LONGS), _same(_LONGS, 1023)), _same(_LONGS, 52))
    return b.fmul(series, b.bitcast(power, _DOUBLES))


def _emit_log(b: Any, x: Any) -> Any:
    """n ln 2 + 2 artanh(s), s = (m - 1) / (m + 1) for m between 0.7 and 1.4, by its series up to s^21."""
    tiny = _same(
        _DOUBLES, math.exp(-FARTHEST)
    )  # instead of what has no logarithm, so that it is never probable
    bits = b.bitcast(b.select(b.fcmp_ordered(">", x, tiny), x, tiny), _LONGS)
    mantissa = b.or_(b.and_(bits, _same(_LONGS, (1 << 52) - 1)), _same(_LONGS, 1022 << 52))
    m = b.bitcast(mantissa, _DOUBLES)  # 0.5 to 1
    n = b.sitofp(b.sub(b.lshr(bits, _same(_LONGS, 52)), _same(_LONGS, 1022)), _DOUBLES)
    small = b.fcmp_ordered("<", m, _same(_DOUBLES, math.sqrt(0.5)))
    m = b.select(small, b.fadd(m, m), m)
    n = b.select(small, b.fsub(n, _same(_DOUBLES, 1.0)), n)
    one = _same(_DOUBLES, 1.0)
    s = b.fdiv(b.fsub(m, one), b.fadd(m, one))
    series = _polynomial(b, b.fmul(s, s), [2.0 / (2 * k + 1) for k in range(10, -1, -1)])
    return b.fadd(b.fmul(n, _same(_DOUBLES, math.log(2.0))), b.fmul(s, series))


_exp, _log = _unary(_emit_exp), _unary(_emit_log)
_sqrt = _unary(lambda b, x: _called("sqrt", b, x))
_ceil = _unary(lambda b, x: _called("ceil", b, x))


def exp(x: Any) -> Any:
    """Exponential function; of lanes, numbers beyond 708 count as 708."""
    return np.exp(np.clip(x, -FARTHEST, FARTHEST))


def log(x: Any) -> Any:
    """Natural logarithm of a positive number; of lanes, that of 0 is some -709."""
    return np.log(np.maximum(x, math.exp(-FARTHEST)))


def sqrt(x: Any) -> Any:
    """Square root."""
    return np.sqrt(x)


def ceil(x: Any) -> Any:
    """The whole number that is not below."""
    return np.ceil(x)


def _function(name: Any, of_lanes: Any, of_one: Any) -> None:
    @_overload(name)
    def chosen(x: Any) -> Any:
        return (lambda x: of_lanes(x)) if x == lanes else (lambda x: of_one(x))


for _name, _many, _one in (
    (exp, _exp, math.exp), (log, _log, math.log), (sqrt, _sqrt, math.sqrt), (ceil, _ceil, math.ceil),
):  # fmt: skip
    _function(_name, _many, _one)


@_intrinsic
def _chosen(_: Any, answer: Any, yes: Any, no: Any) -> Any:
    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        a, b = (_spread(context, builder, k, v) for k, v in zip(sig.args[1:], args[1:], strict=True))
        return builder.select(args[0], a, b)

    return lanes(mask, yes, no), lower


def where(answer: Any, yes: Any, no: Any) -> Any:
    """``yes`` where so, ``no`` elsewhere; both are worked out."""
    return np.where(answer, yes, no)


@_overload(where)
def _where(answer: Any, yes: Any, no: Any) -> Any:
    if answer == mask:
        return lambda answer, yes, no: _chosen(answer, yes, no)
    return lambda answer, yes, no: yes if answer else no


def least(x: Any, y: Any) -> Any:
    """The smaller of two."""
    return np.minimum(x, y)


@_overload(least)
def _least(x: Any, y: Any) -> Any:
    return lambda x, y: where(x < y, x, y)


def most(x: Any, y: Any) -> Any:
    """The larger of two."""
    return np.maximum(x, y)


@_overload(most)
def _most(x: Any, y: Any) -> Any:
    return lambda x, y: where(x > y, x, y)


@_intrinsic
def _any(_: Any, answer: Any) -> Any:
    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        bits = builder.bitcast(args[0], ir.IntType(WIDTH))
        return builder.icmp_unsigned("!=", bits, ir.Constant(ir.IntType(WIDTH), 0))

    return types.boolean(mask), lower


def any_of(answer: Any) -> bool:
    """Whether it is so in any lane."""
    return bool(np.any(answer))


@_overload(any_of)
def _any_of(answer: Any) -> Any:
    return (lambda answer: _any(answer)) if answer == mask else (lambda answer: answer)


def _place(context: Any, builder: Any, kind: Any, args: Any, vector: Any) -> Any:
    array, at = args
    data = context.make_array(kind)(context, builder, array).data
    first = builder.mul(at, ir.Constant(at.type, WIDTH))
    return builder.bitcast(builder.gep(data, [first]), vector.as_pointer())


@_intrinsic
def _loaded(_: Any, array: Any, at: Any) -> Any:
    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        single = sig.args[0].dtype == types.float32
        place = _place(context, builder, sig.args[0], args, _FLOATS if single else _DOUBLES)
        found = builder.load(place, align=4 if single else 8)
        return builder.fpext(found, _DOUBLES) if single else found

    return lanes(array, types.intp), lower


@_intrinsic
def _stored(_: Any, array: Any, at: Any, value: Any) -> Any:
    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        place = _place(context, builder, sig.args[0], args[:2], _DOUBLES)
        builder.store(_spread(context, builder, sig.args[2], args[2]), place, align=8)
        return context.get_dummy_value()

    return types.void(array, types.intp, value), lower


def _check(array: Any, *kinds: Any) -> None:
    """Rows lie one after the other, without gaps; that there are :data:`WIDTH` in each is the caller's to see to."""
    if array.layout != "C" or array.ndim > 2 or array.dtype not in kinds:
        raise TypeError("Rows are those of arrays of doubles without gaps, of one or two dimensions.")


def row(array: Any, at: int) -> Any:
    """Row ``at`` of an array (rows, :data:`WIDTH`) without gaps as lanes, or a number of an array (rows,)."""
    return array[at].copy()


@_overload(row)
def _row(array: Any, at: Any) -> Any:
    _check(array, types.float64, types.float32)
    return (lambda array, at: _loaded(array, at)) if array.ndim > 1 else (lambda array, at: array[at])


def put(array: Any, at: int, value: Any) -> None:
    """Set what :func:`row` gives."""
    array[at] = value


@_overload(put)
def _put(array: Any, at: Any, value: Any) -> Any:
    _check(array, types.float64)
    if array.ndim > 1:
        return lambda array, at, value: _stored(array, at, value)

    def one(array: Any, at: Any, value: Any) -> None:
        array[at] = value

    return one


__all__ = [
    "WIDTH", "any_of", "ceil", "compiled", "exp", "least", "log", "most", "put", "row", "sqrt", "where",
]  # fmt: skip
