"""The command line: one file a command, each a thin face of `Car`."""
