"""The page at the table: one dog, one visit, chalky hands; it works without a network and loses nothing."""
