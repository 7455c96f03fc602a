"""What a reader chooses for this browser, and the keys of the desk."""
