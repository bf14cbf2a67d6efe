"""The graph of quantities and checks, and the engine that keeps it true."""
