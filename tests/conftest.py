"""Settings of the whole suite."""

import os

from hypothesis import settings

# The suite repeats itself exactly; `tests.property.longrun` is where new random cases come from.
settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")

# Nothing is recalled from earlier runs, and the user's cache is left alone, programs started here
# included; what tries the traces says where they are.
os.environ["WHYBONE_TRACES"] = "off"
