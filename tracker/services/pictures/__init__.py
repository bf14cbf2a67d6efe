"""What pictures show."""
