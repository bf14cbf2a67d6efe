"""Reading and writing text: units, imports, exports."""
