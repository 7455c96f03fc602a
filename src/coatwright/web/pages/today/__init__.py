"""Today: whose turn it is."""
