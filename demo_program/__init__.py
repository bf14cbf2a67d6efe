"""The demo programme: an invented vehicle told through its journal."""
