"""Engineering checks for chassis work, registered through the `whybone.checks` entry points."""
