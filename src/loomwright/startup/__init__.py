"""What must be true before the first start, and is the timing where it is said to be?"""
