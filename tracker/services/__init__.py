"""Use cases and read models: the only door for the command line and the terminal UI."""
