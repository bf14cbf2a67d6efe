"""The terminal UI in a browser on this machine."""
