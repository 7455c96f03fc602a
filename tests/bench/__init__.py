"""Benchmarks: ``python -m tests.bench`` prints them, ``--write`` keeps them in docs/reference/performance.md."""
