"""All dogs."""
