"""Screens: each shows one read model and asks the engine thread for it."""
