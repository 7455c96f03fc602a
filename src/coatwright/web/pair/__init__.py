"""How a tablet comes in: trusting the salon's certificate, the one-time code, and who works with it."""
