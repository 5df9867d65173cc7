"""Which controller pin does each need get, and why; what if there are too few?"""
