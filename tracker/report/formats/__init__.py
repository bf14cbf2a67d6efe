"""A document in each format: pure functions from document to bytes."""
