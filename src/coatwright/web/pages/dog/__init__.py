"""One dog: its coat on any day, its zones, its past, and what comes next."""
