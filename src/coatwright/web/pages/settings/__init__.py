"""What a reader chooses for this browser."""
