"""whybone: the why of a chassis programme, kept and re-checked."""
