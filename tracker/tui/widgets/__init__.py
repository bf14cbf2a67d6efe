"""Widgets: each speaks to its screen by messages only."""
