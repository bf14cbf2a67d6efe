"""The same pages line by line, for screen readers and pipes: nothing is ever redrawn."""
