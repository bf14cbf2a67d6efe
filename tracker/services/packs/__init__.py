"""What a gate is shown, frozen as plain data."""
