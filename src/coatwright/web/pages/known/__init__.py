"""What is known of a dog."""
