"""Content into documents: which sections, in which order, with what in them."""
