"""Coatwright: plans the hand-stripping of a dog's coat.

The functions are told in :mod:`coatwright.api`, and in ``docs/reference/python.md``. They load when first used, so
that ``import coatwright`` is quick.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from coatwright.api import compare, forecast, plan, read, sheet
    from coatwright.errors import CoatwrightError
    from coatwright.printing.sheet import Sheet
    from coatwright.salon.dogfile import DogFile
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.records import Dog
    from coatwright.salon.results import DogForecast, forecast_result, plan_result, sheet_result

_PLACES = {
    "CoatwrightError": "coatwright.errors",
    "Dog": "coatwright.salon.records",
    "DogFile": "coatwright.salon.dogfile",
    "DogForecast": "coatwright.salon.results",
    "DogPlan": "coatwright.salon.plans",
    "Sheet": "coatwright.printing.sheet",
    "compare": "coatwright.api",
    "forecast": "coatwright.api",
    "forecast_result": "coatwright.salon.results",
    "plan": "coatwright.api",
    "plan_result": "coatwright.salon.results",
    "read": "coatwright.api",
    "sheet": "coatwright.api",
    "sheet_result": "coatwright.salon.results",
}

__all__ = [
    "CoatwrightError",
    "Dog",
    "DogFile",
    "DogForecast",
    "DogPlan",
    "Sheet",
    "__version__",
    "compare",
    "forecast",
    "forecast_result",
    "plan",
    "plan_result",
    "read",
    "sheet",
    "sheet_result",
]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used (PEP 562)."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(_PLACES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
