"""All that a plugin may import of whybone."""
