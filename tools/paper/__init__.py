"""Makes the learned scores of the paper test from drawn photographs: ``python -m tools.paper``."""
