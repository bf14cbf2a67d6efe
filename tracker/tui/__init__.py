"""The terminal UI: screens over read models."""
