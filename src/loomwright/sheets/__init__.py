"""A job in a container: a folder of CSV sheets. A container brings rows of text; what they mean is asked in `job`."""
