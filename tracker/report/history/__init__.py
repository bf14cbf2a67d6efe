"""The decision history: what it holds, and everything it is written as."""
