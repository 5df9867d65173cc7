"""Tables: trade figures as files, each with its source, and the functions that look them up.

A figure from outside lives in a CSV or TOML file here, never in code. Beside each file stands a page that says what it
is for and how it may be used between rows. Outside its ends a table refuses.
"""
