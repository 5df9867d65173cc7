"""Which runs does each wire follow, how long is it then, what do runs share, where are splices? (Nothing here yet.)"""
