"""Which runs does each wire follow, how long does that make it, what shares a run, where do splices sit? (Nothing here yet.)"""
