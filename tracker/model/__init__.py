"""Records, values, units and changes of a programme: plain data and its invariants."""
