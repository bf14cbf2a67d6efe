"""What a gate asks, and freezing it."""
