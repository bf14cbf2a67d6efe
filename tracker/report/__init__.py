"""Documents made from read models: the decision history and, in time, the gate packs."""
