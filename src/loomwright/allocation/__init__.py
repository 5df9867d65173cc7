"""Which controller pin and which cavity does each need get, and why; what if there are too few? (Nothing here yet.)"""
