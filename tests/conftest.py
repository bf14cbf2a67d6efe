"""Settings of the whole suite."""

from hypothesis import settings

# The suite repeats itself exactly; `tests.property.longrun` is where new random cases come from.
settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")
