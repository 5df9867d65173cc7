"""Which pin, which way of a connector, which fuse does each thing get, and why; what if there are too few?"""
