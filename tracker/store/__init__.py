"""The journal and its projection in a database."""
