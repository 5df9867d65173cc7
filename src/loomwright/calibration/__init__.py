"""Which numbers does the engine start with, and which curve does a sensor have?"""
