"""The paper test: sheets, photos, traces, verdicts."""
