"""Screens that are reached by a key or by name, one module per subject."""
