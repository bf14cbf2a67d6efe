"""Read models into lines: pure functions, no widgets."""
