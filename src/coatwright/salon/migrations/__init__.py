"""The schema's history: one file in ``versions`` for each step, each run in a transaction of its own."""
