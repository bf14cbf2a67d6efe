"""Read models as text for a terminal or a pipe."""
