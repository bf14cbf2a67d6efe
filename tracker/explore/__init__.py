"""Looking further than one edit: what else the values could be, and what would stand then.

The core is `sources` (what can be moved), `candidates` (rows of candidate values) and `assessing`
(verdicts, margins and standings of every row, as the engine would give them one by one).
"""
