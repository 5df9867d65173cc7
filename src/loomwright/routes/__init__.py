"""Which runs does each wire follow, how long does that make it, and what lies together in a run?"""
