"""Finding and loading the installed checks."""
