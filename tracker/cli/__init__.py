"""The command line: arguments in, read models out as text or JSON."""
