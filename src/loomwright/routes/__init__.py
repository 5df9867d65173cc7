"""Which runs does each wire follow, how long is it then, what shares a run, where do splices sit? (Nothing here yet.)"""
